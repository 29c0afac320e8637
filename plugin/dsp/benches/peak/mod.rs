//! The multiply-add peak of this processor, and the best time of a piece of work: what every benchmark is a ratio of.
//!
//! Promises figures of one core in this run. Called by the benchmarks of the readers and of the print; calls nothing. In a
//! folder, so that Cargo does not take it for a benchmark of its own.

use std::hint::black_box;
use std::time::Instant;

/// Independent sums kept in flight: more than latency times width of any current core needs, and they fit the registers.
const SUMS: usize = 12;
/// Floats in one 256-bit register.
const LANES: usize = 8;

/// Best of 200 short runs of `work`, in seconds: what the processor does when nothing else disturbs it.
pub fn best_seconds(mut work: impl FnMut()) -> f64 {
    let mut best = f64::INFINITY;
    for _ in 0..200 {
        let start = Instant::now();
        work();
        best = best.min(start.elapsed().as_secs_f64());
    }
    best
}

/// Multiply-adds a second with nothing to load.
pub fn peak() -> f64 {
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
