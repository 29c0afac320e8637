//! Seeded noise and block lengths: the one random generator of the tests that load the plugin.

/// White noise between -0.5 and 0.5 (-6 dB peak), the same for the same seed.
pub fn noise(frames: usize, seed: u64) -> Vec<f32> {
    let mut random = fastrand::Rng::with_seed(seed);
    (0..frames).map(|_| random.f32() - 0.5).collect()
}

/// Block lengths between 1 and `longest`, the same for the same seed.
pub fn random_lengths(longest: usize, seed: u64) -> impl FnMut() -> usize {
    let mut random = fastrand::Rng::with_seed(seed);
    move || random.usize(1..=longest)
}
