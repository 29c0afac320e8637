//! What an instance costs: memory, the time to make one, and its part of a core.

use crate::library::release;
#[cfg(target_os = "linux")]
use crate::library::{open, run};
use plumbline_hosting::{Layout, Session, noise};
use std::time::Instant;

/// Most memory of one instance at 48 kHz, bytes. 6 MiB are wanted; 64 kept strokes, the tables of two looks at a drum's fit and the
/// tape take 6.5.
#[cfg(target_os = "linux")]
const MEMORY: usize = 7 << 20;

const SESSION: Session = Session {
    sample_rate: 48_000.0,
    max_block: 64,
    layout: Layout::StereoSpotStereo,
    offline: false,
};

/// Resident memory of this process, where the system says so.
#[cfg(target_os = "linux")]
fn resident() -> Option<usize> {
    let pages = std::fs::read_to_string("/proc/self/statm").ok()?;
    let pages: usize = pages.split(' ').nth(1)?.parse().ok()?;
    Some(pages * 4096)
}

/// Alone: what tests that run side by side allocate would be counted here.
#[cfg(target_os = "linux")]
#[test]
fn a_hundred_instances_take_a_hundred_times_little_memory() {
    crate::alone::alone(
        "cost::a_hundred_instances_take_a_hundred_times_little_memory",
        memory_of_instances,
    );
}

#[cfg(target_os = "linux")]
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
#[cfg(target_os = "linux")]
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

/// What an instance does, and its settings.
const CASES: [(&str, &[(&str, f64)]); 8] = [
    ("at rest", &[]),
    (
        "both channels between samples",
        &[("nudge_first", 0.123), ("nudge_second", 0.456)],
    ),
    (
        "and measuring",
        &[
            ("nudge_first", 0.123),
            ("nudge_second", 0.456),
            ("measure", 1.0),
        ],
    ),
    ("bypassed", &[("bypass", 1.0)]),
    (
        "and two decks in a cycle",
        &[
            ("nudge_first", 0.123),
            ("mode", 1.0),
            ("motion", 1.0),
            ("sync", 0.0),
            ("rate", 1.0),
            ("wow", 0.1),
            ("flutter", 0.1),
        ],
    ),
    (
        "and a print",
        &[("nudge_first", 0.123), ("print", 1.0), ("tape_level", 6.0)],
    ),
    (
        "and a print on two decks",
        &[
            ("nudge_first", 0.123),
            ("print", 1.0),
            ("tape_level", 6.0),
            ("mode", 1.0),
            ("motion", 1.0),
        ],
    ),
    ("mono monitor, -3 dB", &[("monitor", 1.0), ("output", -3.0)]),
];

#[test]
fn part_of_a_core_at_64_samples() {
    for (case, settings) in CASES {
        let mut instance = release().open(&SESSION).unwrap();
        for (id, value) in settings {
            instance.set(id, *value).unwrap();
        }
        instance.restart().unwrap();
        let [left, right] = [noise(64, 3), noise(64, 4)];
        let mut best = f64::INFINITY;
        // The best of twenty tenths of a second: other work on the machine only ever adds.
        for _ in 0..20 {
            let (mut first, mut second) = (noise(64, 1), noise(64, 2));
            let begin = Instant::now();
            for _ in 0..75 {
                instance
                    .process(&mut [&mut first, &mut second], &[&left, &right])
                    .unwrap();
            }
            best = best.min(begin.elapsed().as_secs_f64() / 0.1);
            // The ring to the analysis is emptied meanwhile: a full one would be cheaper.
            std::thread::sleep(std::time::Duration::from_millis(30));
        }
        println!(
            "Align {case}: {:.3} % of one core, host included",
            100.0 * best
        );
    }
}

/// Shortest time that 75 blocks of 64 samples take, seconds, among so many tries.
fn fastest(instance: &mut plumbline_hosting::Instance, input: &[f32], tries: usize) -> f64 {
    let spot = [input, input];
    let tries = (0..tries).map(|_| {
        let begin = Instant::now();
        for _ in 0..75 {
            let (mut first, mut second) = (input.to_vec(), input.to_vec());
            instance
                .process(&mut [&mut first, &mut second], &spot)
                .unwrap();
        }
        begin.elapsed().as_secs_f64()
    });
    tries.fold(f64::INFINITY, f64::min)
}

#[test]
fn ten_seconds_of_silence_cost_no_more_than_sound() {
    // Numbers too small for the processor's fast path would show here: at most 1.2 times the cost. Common practice, no
    // source.
    for (case, settings) in [
        ("Align", &[("nudge_first", 0.123)][..]),
        ("Print", &[("print", 1.0), ("tape_level", 12.0)]),
        (
            "Sweep",
            &[("mode", 1.0), ("motion", 1.0), ("sync", 0.0), ("wow", 0.1)],
        ),
    ] {
        let mut instance = release().open(&SESSION).unwrap();
        for (id, value) in settings {
            instance.set(id, *value).unwrap();
        }
        instance.restart().unwrap();
        let with_sound = fastest(&mut instance, &noise(64, 1), 100);
        // A tenth of a second each.
        let in_silence = fastest(&mut instance, &[0.0; 64], 100);
        let ratio = in_silence / with_sound;
        println!("{case}: silence costs {ratio:.2} times what sound costs");
        assert!(ratio <= 1.2, "{case}: {ratio}");
    }
}
