//! No operand that is slow: in silence nothing is left that is too small for the processor's fast path.

use crate::library::release;
use plumbline_hosting::{Layout, Session, noise};

/// In its silence a decaying state reaches the numbers that are too small for the processor's fast path: one operand of that kind
/// costs a hundred times a normal one. What the silence costs beside sound, `cargo bench -p plumbline-hosting --bench cost` says.
#[test]
fn in_ten_seconds_of_silence_no_operand_is_subnormal() {
    let session = Session {
        sample_rate: 48_000.0,
        max_block: 64,
        layout: Layout::StereoSpotStereo,
        offline: false,
    };
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
        let mut instance = release().open(&session).unwrap();
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
