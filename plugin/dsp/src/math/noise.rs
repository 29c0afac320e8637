//! Seeded noise for the unit tests.

/// `count` samples, even in -0.5 to 0.5.
pub(crate) fn noise(count: usize, seed: u64) -> Vec<f32> {
    let mut random = fastrand::Rng::with_seed(seed);
    (0..count).map(|_| random.f32() - 0.5).collect()
}
