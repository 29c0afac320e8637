//! What an instance costs: memory, the time to make one, and no operand that is slow. Its part of a core: `benches/cost.rs`.

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

/// In its silence a decaying state reaches the numbers that are too small for the processor's fast path: one operand of that kind
/// costs a hundred times a normal one. What the silence costs beside sound, `cargo bench -p plumbline-hosting --bench cost` says.
#[cfg(target_arch = "x86_64")]
#[test]
fn in_ten_seconds_of_silence_no_operand_is_subnormal() {
    // What is tested is able to see one.
    assert!(has_subnormal_operands(|| {
        std::hint::black_box(std::hint::black_box(1e-40_f32) * 0.5);
    }));
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
        let mut seconds = |time: usize, input: &[f32]| {
            for _ in 0..time * 750 {
                let (mut first, mut second) = (input.to_vec(), input.to_vec());
                instance
                    .process(&mut [&mut first, &mut second], &[input, input])
                    .unwrap();
            }
        };
        seconds(1, &noise(64, 1));
        assert!(
            !has_subnormal_operands(|| seconds(10, &[0.0; 64])),
            "{case}"
        );
    }
}

/// Whether the processor met a subnormal operand in `work`, by the flag that stays up once it has (Intel 64 and IA-32
/// Architectures Software Developer's Manual, volume 1, 10.2.3: DE, bit 1 of MXCSR).
#[cfg(target_arch = "x86_64")]
fn has_subnormal_operands(work: impl FnOnce()) -> bool {
    const DE: u32 = 1 << 1;
    let mut flags = 0_u32;
    // SAFETY: reads and writes this thread's own register; only a flag is lowered.
    unsafe {
        std::arch::asm!("stmxcsr [{}]", in(reg) &mut flags);
        flags &= !DE;
        std::arch::asm!("ldmxcsr [{}]", in(reg) &flags);
    }
    work();
    // SAFETY: reads this thread's own register.
    unsafe { std::arch::asm!("stmxcsr [{}]", in(reg) &mut flags) };
    flags & DE != 0
}
