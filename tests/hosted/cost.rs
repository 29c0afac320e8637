//! What an instance costs: memory, and the time to make one. Its part of a core: `benches/cost.rs`.

use crate::library::{open, run};
use plumbline_hosting::{Layout, Session, noise};
use std::time::Instant;

/// Most memory of one instance at 48 kHz, bytes. 6 MiB are wanted; 64 kept strokes, the tables of two looks at a drum's fit and the
/// tape take 6.5.
const MEMORY: usize = 7 << 20;

const SESSION: Session = Session {
    sample_rate: 48_000.0,
    max_block: 64,
    layout: Layout::StereoSpotStereo,
    offline: false,
};

/// Resident memory of this process, where the system says so.
fn resident() -> Option<usize> {
    let pages = std::fs::read_to_string("/proc/self/statm").ok()?;
    let pages: usize = pages.split(' ').nth(1)?.parse().ok()?;
    Some(pages * 4096)
}

/// Alone: what tests that run side by side allocate would be counted here.
#[test]
fn a_hundred_instances_take_a_hundred_times_little_memory() {
    crate::alone::alone(
        "cost::a_hundred_instances_take_a_hundred_times_little_memory",
        memory_of_instances,
    );
}

fn memory_of_instances() {
    let opened = |count: usize| {
        let begin = Instant::now();
        let instances: Vec<_> = (0..count).map(|_| worked()).collect();
        (
            instances,
            begin.elapsed().as_secs_f64() * 1000.0 / count as f64,
        )
    };
    let first = opened(1);
    let before = resident();
    let (fifty, _) = opened(50);
    let half_way = resident();
    let (more, milliseconds) = opened(50);
    let after = resident();
    println!("making an instance takes {milliseconds:.2} ms, with its first block");
    let (Some(before), Some(half_way), Some(after)) = (before, half_way, after) else {
        println!("skipped: this system does not say how much memory an instance takes");
        return;
    };
    let (one, other) = ((half_way - before) / 50, (after - half_way) / 50);
    println!(
        "memory of an instance: {} KiB, of the next fifty {} KiB",
        one >> 10,
        other >> 10
    );
    assert!(one.max(other) <= MEMORY, "{one} {other}");
    assert!(
        one.abs_diff(other) < MEMORY / 10,
        "not linear: {one} {other}"
    );
    drop((first, fifty, more));
}

/// An instance with every stage that has touched all its memory once: a tenth of a second of noise while measuring.
fn worked() -> plumbline_hosting::Instance {
    let mut instance = open(SESSION);
    instance.set("mode", 1.0).unwrap();
    instance.set("print", 1.0).unwrap();
    instance.restart().unwrap();
    instance.set("measure", 1.0).unwrap();
    let mut main = vec![noise(4_800, 1), noise(4_800, 2)];
    run(
        &mut instance,
        &mut main,
        &[noise(4_800, 3), noise(4_800, 4)],
        || 64,
    );
    instance
}
