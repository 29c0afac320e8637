//! What the print costs: share of a core, and the ratio to the multiply-add peak of this processor in the same run.
//! A name as argument runs the cases of that name alone.

use std::hint::black_box;
use std::time::Instant;

use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup};

/// Independent sums kept in flight: more than latency times width of any current core needs, and they fit the registers.
const SUMS: usize = 12;
/// Floats in one 256-bit register.
const LANES: usize = 8;
/// Samples in a block.
const BLOCK: usize = 64;

fn main() {
    let peak = peak();
    println!("multiply-add peak, one core {:8.2} G/s", peak / 1e9);
    let plain = PrintSettings::default();
    let hiss = PrintSettings {
        hiss_db: Some(-60.0),
        ..plain
    };
    let slow = PrintSettings {
        speed: TapeSpeed::Cm19,
        equalisation: Equalisation::Nab,
        ..plain
    };
    let cases = [
        ("loud", 48_000.0, 0.25, plain),
        ("silence", 48_000.0, 0.0, plain),
        ("the end of a long decay (1e-36)", 48_000.0, 1e-36, plain),
        ("19 cm/s, NAB", 48_000.0, 0.25, slow),
        ("with noise", 48_000.0, 0.25, hiss),
        ("loud", 44_100.0, 0.25, plain),
        ("loud", 96_000.0, 0.25, plain),
        ("loud", 192_000.0, 0.25, plain),
    ];
    let asked = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    let asked = |name: &str| asked.as_ref().is_none_or(|asked| name == asked);
    for (name, rate, sample, settings) in cases.into_iter().filter(|case| asked(case.0)) {
        let share = cost(rate, sample, settings);
        let multiply_adds = share * peak / (2.0 * rate);
        println!(
            "Print, stereo, {rate} Hz, {BLOCK}-sample blocks, {name}: {:.4} % of a core, the time of {multiply_adds:.0} \
             multiply-adds at the peak for a sample of a channel",
            share * 100.0
        );
    }
    for rate in [48_000.0, 192_000.0, 768_000.0] {
        let start = Instant::now();
        black_box(print(rate));
        let seconds = start.elapsed().as_secs_f64();
        println!("creating one at {rate} Hz: {:.2} ms", seconds * 1e3);
    }
}

fn print(sample_rate: f64) -> Print {
    Print::new(PrintSetup {
        sample_rate,
        channels: 2,
    })
}

/// Share of one core for samples of this size.
fn cost(rate: f64, sample: f32, settings: PrintSettings) -> f64 {
    const BLOCKS: usize = 200;
    let mut print = print(rate);
    let mut at = 0;
    let seconds = best_seconds(|| {
        for _ in 0..BLOCKS {
            let (mut first, mut second) = ([sample; BLOCK], [-sample; BLOCK]);
            for n in (0..BLOCK).step_by(3) {
                (first[n], second[n]) = (-sample, sample);
            }
            let song_s = at as f64 / rate;
            print.process(&mut [&mut first, &mut second], song_s, &settings);
            black_box((&mut first, &mut second));
            at += BLOCK;
        }
    });
    seconds / (BLOCKS * BLOCK) as f64 * rate
}

/// Best of 200 short runs of `work`, in seconds: what the processor does when nothing else disturbs it.
fn best_seconds(mut work: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..200 {
        let start = Instant::now();
        work();
        best = best.min(start.elapsed().as_secs_f64());
    }
    best
}

/// Multiply-adds a second with nothing to load.
fn peak() -> f64 {
    const ROUNDS: usize = 20_000;
    let seconds = best_seconds(|| {
        #[cfg(target_arch = "x86_64")]
        if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
            // SAFETY: both features were just found on this processor.
            unsafe { peak_avx2(black_box(ROUNDS)) };
            return;
        }
        peak_body(black_box(ROUNDS), |a, b, c| a * b + c);
    });
    (ROUNDS * SUMS * LANES) as f64 / seconds
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn peak_avx2(rounds: usize) {
    peak_body(rounds, f32::mul_add);
}

#[inline(always)]
fn peak_body(rounds: usize, mul_add: impl Fn(f32, f32, f32) -> f32) {
    let mut sums = [[1.0f32; LANES]; SUMS];
    let (a, b) = (black_box([0.999f32; LANES]), black_box([1e-3f32; LANES]));
    for _ in 0..rounds {
        for sum in &mut sums {
            for lane in 0..LANES {
                sum[lane] = mul_add(sum[lane], a[lane], b[lane]);
            }
        }
    }
    black_box(sums);
}
