//! First-order sections side by side: any product of real zeros and poles as a sum of one-pole filters.

use std::f64::consts::PI;

use super::history::FRAME;

/// Most sections of one filter.
pub const SECTIONS: usize = 8;
/// State below this is silence (-600 dB): nothing decays into subnormal numbers.
const SILENCE: f64 = 1e-30;

/// `gain` (1 - `zero` z⁻¹) / (1 - `pole` z⁻¹).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    pub zero: f64,
    pub pole: f64,
    pub gain: f64,
}

impl Pair {
    /// 1 at 0 Hz.
    pub fn level_below(zero: f64, pole: f64) -> Self {
        Self {
            zero,
            pole,
            gain: (1.0 - pole) / (1.0 - zero),
        }
    }

    /// (s + 2π `zero_hz`) / (s + 2π `pole_hz`) by the bilinear transform: 1 far above both.
    pub fn level_above(zero_hz: f64, pole_hz: f64, sample_rate: f64) -> Self {
        let root = |hz: f64| root_of((PI * hz / sample_rate).tan());
        let (zero, pole) = (root(zero_hz), root(pole_hz));
        Self {
            zero,
            pole,
            gain: (1.0 + pole) / (1.0 + zero),
        }
    }

    /// One over it.
    pub fn inverse(self) -> Self {
        Self {
            zero: self.pole,
            pole: self.zero,
            gain: 1.0 / self.gain,
        }
    }

    /// Magnitude at a frequency in turns a sample.
    pub fn amplitude(self, turns: f64) -> f64 {
        let cosine = (2.0 * PI * turns).cos();
        let distance = |root: f64| (1.0 - 2.0 * root * cosine + root * root).sqrt();
        self.gain * distance(self.zero) / distance(self.pole)
    }
}

/// Root on the real axis of a corner of tan(ω/2) = `tangent`.
pub fn root_of(tangent: f64) -> f64 {
    (1.0 - tangent) / (1.0 + tangent)
}

/// A product of pairs as `direct` x + Σ `weights`ₖ / (1 - `poles`ₖ z⁻¹) x. No two poles may be alike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnePoles {
    direct: f64,
    weights: [f64; SECTIONS],
    poles: [f64; SECTIONS],
}

/// What the poles hold.
pub type OnePoleState = [f64; SECTIONS];

impl OnePoles {
    /// Partial fractions of up to [`SECTIONS`] pairs.
    pub fn new(pairs: &[Pair]) -> Self {
        let gain: f64 = pairs.iter().map(|pair| pair.gain).product();
        let mut sum = Self {
            direct: gain
                * pairs
                    .iter()
                    .map(|pair| pair.zero / pair.pole)
                    .product::<f64>(),
            weights: [0.0; SECTIONS],
            poles: [0.0; SECTIONS],
        };
        for (index, own) in pairs.iter().enumerate().take(SECTIONS) {
            let mut weight = gain * (1.0 - own.zero / own.pole);
            for (_, other) in pairs.iter().enumerate().filter(|(n, _)| *n != index) {
                weight *= (1.0 - other.zero / own.pole) / (1.0 - other.pole / own.pole);
            }
            sum.weights[index] = weight;
            sum.poles[index] = own.pole;
        }
        sum
    }

    /// Filters `audio`, at most a frame, in place.
    #[inline(always)]
    pub fn process(&self, state: &mut OnePoleState, audio: &mut [f64]) {
        // Sums over half of the sections, added up in a loop of their own: both loops stay wide.
        let mut halves = [[0.0; SECTIONS / 2]; FRAME];
        let mut now = *state;
        for (half, &x) in halves.iter_mut().zip(&*audio) {
            for (state, pole) in now.iter_mut().zip(&self.poles) {
                *state = *state * pole + x;
            }
            let product: [f64; SECTIONS] = std::array::from_fn(|n| now[n] * self.weights[n]);
            *half = std::array::from_fn(|n| product[n] + product[n + SECTIONS / 2]);
        }
        *state = now;
        for (x, [a, b, c, d]) in audio.iter_mut().zip(&halves) {
            *x = *x * self.direct + ((a + c) + (b + d));
        }
    }
}

/// Silences what has decayed; to be called now and then.
pub fn settle(state: &mut OnePoleState) {
    for x in state {
        if x.abs() < SILENCE {
            *x = 0.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sum_is_the_product() {
        let pairs = [
            Pair::level_above(0.0, 5.0, 48_000.0),
            Pair::level_below(0.93, 0.9),
            Pair::level_below(0.2, 0.5),
        ];
        let sum = OnePoles::new(&pairs);
        let mut got = [0.0; 200];
        got[0] = 1.0;
        let mut want = got;
        let mut state = [0.0; SECTIONS];
        (got.chunks_mut(FRAME)).for_each(|frame| sum.process(&mut state, frame));
        for pair in pairs {
            let (mut x1, mut y1) = (0.0, 0.0);
            for x in &mut want {
                let y = pair.gain * (*x - pair.zero * x1) + pair.pole * y1;
                (x1, y1) = (*x, y);
                *x = y;
            }
        }
        for (got, want) in got.iter().zip(want) {
            assert!((got - want).abs() < 1e-12);
        }
    }
}
