//! Flattens what the template does not explain by one causal filter for both channels: it rings after a front, never ahead.

use crate::math::shifted_dot::shifted_dot;

/// Order of the linear prediction: a cymbal's broad hills.
pub(crate) const ORDER: usize = 20;
/// White noise added to the autocorrelation, -35 dB, so that no line is lifted without bound.
const WHITE: f64 = 1.0003;

/// A minimum-phase prediction-error filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Whitener {
    taps: [f32; ORDER + 1],
}

impl Default for Whitener {
    fn default() -> Self {
        let mut taps = [0.0; ORDER + 1];
        taps[0] = 1.0;
        Self { taps }
    }
}

impl Whitener {
    /// From an autocorrelation (Levinson 1947, Durbin 1960).
    pub(crate) fn from_autocorrelation(mut r: [f64; ORDER + 1]) -> Self {
        if r[0].is_nan() || r[0] <= 0.0 {
            return Self::default();
        }
        r[0] *= WHITE;
        let mut a = [0.0f64; ORDER + 1];
        a[0] = 1.0;
        let mut error = r[0];
        for order in 1..=ORDER {
            let sum: f64 = (0..order).map(|k| a[k] * r[order - k]).sum();
            let reflection = -sum / error;
            let before = a;
            for k in 1..=order {
                a[k] = before[k] + reflection * before[order - k];
            }
            error *= 1.0 - reflection * reflection;
        }
        Self {
            taps: a.map(|x| x as f32),
        }
    }

    /// Filters `N` signals side by side, in place, silence before them.
    pub(crate) fn run<const N: usize>(&self, samples: &mut [[f32; N]]) {
        for n in (0..samples.len()).rev() {
            let mut sum = [0.0; N];
            for (tap, past) in self.taps.iter().zip(samples[..=n].iter().rev()) {
                for (sum, x) in sum.iter_mut().zip(past) {
                    *sum += tap * x;
                }
            }
            samples[n] = sum;
        }
    }
}

/// Adds the autocorrelation of a stretch under a raised cosine, scaled to a power of one, to `sum`.
pub(crate) fn add_autocorrelation(stretch: &[f32], faded: &mut [f32], sum: &mut [f64; ORDER + 1]) {
    let length = stretch.len();
    let turn = std::f32::consts::TAU / (length - 1) as f32;
    for (n, (out, x)) in faded.iter_mut().zip(stretch).enumerate() {
        *out = x * (0.5 - 0.5 * (turn * n as f32).cos());
    }
    let faded = &faded[..length];
    let lagged = |lag: usize| f64::from(shifted_dot(faded, faded, lag as isize));
    let whole = lagged(0);
    if whole > 0.0 {
        for (lag, sum) in sum.iter_mut().enumerate() {
            *sum += lagged(lag) / whole;
        }
    }
}
