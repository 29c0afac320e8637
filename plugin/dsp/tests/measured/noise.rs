//! Seeded noise for every measured test: one generator, so that every run is the same.

use std::f64::consts::TAU;

/// Seeded random numbers (SplitMix64: Steele, Lea & Flood 2014): unlike streams also from neighbouring seeds.
pub struct Noise(u64);

impl Noise {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Even, 0 to 1.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Even, -1 to 1.
    pub fn signed(&mut self) -> f64 {
        self.between(-1.0, 1.0)
    }

    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * self.uniform()
    }

    /// Normal, mean 0, deviation 1 (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (TAU * self.uniform()).cos()
    }

    pub fn normals(&mut self, length: usize) -> Vec<f64> {
        (0..length).map(|_| self.normal()).collect()
    }

    /// Samples of white noise, even in -1 to 1.
    pub fn samples(&mut self, count: usize) -> Vec<f32> {
        (0..count).map(|_| self.signed() as f32).collect()
    }
}
