//! Loops that are compiled twice on x86-64, with and without AVX2 and fused multiply-add, and chosen at run time.

/// How a product joins a sum.
pub trait Arithmetic {
    /// `sum` + `tap` times `sample`.
    fn add(sum: f32, tap: f32, sample: f32) -> f32;

    /// The same in double precision.
    fn add_double(sum: f64, tap: f64, sample: f64) -> f64;
}

/// One rounding; fast only where the processor has it.
pub(crate) struct Fused;

/// Two roundings, on any processor.
#[cfg(not(target_arch = "aarch64"))]
pub(crate) struct Separate;

impl Arithmetic for Fused {
    #[inline(always)]
    fn add(sum: f32, tap: f32, sample: f32) -> f32 {
        tap.mul_add(sample, sum)
    }

    #[inline(always)]
    fn add_double(sum: f64, tap: f64, sample: f64) -> f64 {
        tap.mul_add(sample, sum)
    }
}

#[cfg(not(target_arch = "aarch64"))]
impl Arithmetic for Separate {
    #[inline(always)]
    fn add(sum: f32, tap: f32, sample: f32) -> f32 {
        tap * sample + sum
    }

    #[inline(always)]
    fn add_double(sum: f64, tap: f64, sample: f64) -> f64 {
        tap * sample + sum
    }
}

#[cfg(target_arch = "aarch64")]
pub(crate) type Portable = Fused;
#[cfg(not(target_arch = "aarch64"))]
pub(crate) type Portable = Separate;

/// A loop that is worth compiling for wider registers. `run` and all it calls must be inlined.
pub trait Work {
    /// Does it.
    fn run<A: Arithmetic>(self);
}

/// Runs `work` with the widest registers this processor has.
#[inline]
pub fn run_widest(work: impl Work) {
    #[cfg(target_arch = "x86_64")]
    if is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma") {
        // SAFETY: both features were just found on this processor.
        return unsafe { run_avx2(work) };
    }
    work.run::<Portable>();
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2,fma")]
fn run_avx2(work: impl Work) {
    work.run::<Fused>();
}
