//! A second-order section: the Butterworth filters of the level curves, and any other from its coefficients.

use std::f64::consts::{PI, SQRT_2};

/// Second-order section in direct form I.
#[derive(Clone, Copy, Debug)]
pub struct Biquad {
    /// Numerator b₀, b₁, b₂.
    forward: [f64; 3],
    /// Denominator a₁, a₂; a₀ is 1.
    back: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Biquad {
    /// From the coefficients of the numerator b₀, b₁, b₂ and of the denominator a₀, a₁, a₂.
    pub fn new(numerator: [f64; 3], denominator: [f64; 3]) -> Self {
        let [a0, a1, a2] = denominator;
        Self {
            forward: numerator.map(|b| b / a0),
            back: [a1 / a0, a2 / a0],
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    /// Butterworth high pass, by the bilinear transform.
    pub fn high_pass(hz: f64, sample_rate: f64) -> Self {
        let w = (PI * hz / sample_rate).tan();
        Self::butterworth([1.0, -2.0, 1.0], w)
    }

    /// Butterworth low pass, by the bilinear transform.
    pub fn low_pass(hz: f64, sample_rate: f64) -> Self {
        let w = (PI * hz / sample_rate).tan();
        Self::butterworth([w * w, 2.0 * w * w, w * w], w)
    }

    fn butterworth(numerator: [f64; 3], w: f64) -> Self {
        let denominator = [
            1.0 + SQRT_2 * w + w * w,
            2.0 * (w * w - 1.0),
            1.0 - SQRT_2 * w + w * w,
        ];
        Self::new(numerator, denominator)
    }

    /// Coefficients as published tables have them: b₀, b₁, b₂ and a₁, a₂, with a₀ = 1.
    pub fn coefficients(&self) -> ([f64; 3], [f64; 2]) {
        (self.forward, self.back)
    }

    /// One sample later.
    pub fn next(&mut self, x: f64) -> f64 {
        let [b0, b1, b2] = self.forward;
        let y = b0 * x + b1 * self.x[0] + b2 * self.x[1]
            - self.back[0] * self.y[0]
            - self.back[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}
