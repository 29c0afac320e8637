//! The lag at which a pair's sum is fullest over a drum's body, and what any lag loses: from the strokes' cross-correlation.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::pair::cut::cut;
use crate::measure::pair::timing::Timing;

/// The body and the attack, without the room's rumble and the cymbals.
const BODY_HZ: Edges = Edges {
    low_hz: 100.0,
    high_hz: 6_000.0,
};
/// Heard from this long before the strokes' time ...
const BEFORE_S: f64 = 0.001;
/// ... over this long.
const LENGTH_S: f64 = 0.040;
/// Looked for within this of the attack's lag.
const REACH_S: f64 = 0.001;
/// Steps a sample.
const STEPS: usize = 8;
/// Extra lags for the interpolation.
const EDGE: usize = 16;

/// Where a sum is fullest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fullest {
    /// Samples.
    pub lag: f64,
    /// Correlation there, -1 to 1.
    pub alike: f32,
}

/// Scratch.
pub(crate) struct BodyLag {
    length: usize,
    reach: usize,
    pair: [Box<[f32]>; 2],
    sums: Box<[f32]>,
    fine: Box<[f32]>,
}

impl BodyLag {
    pub(crate) fn new(window: &Window) -> Self {
        let length = window.samples(LENGTH_S);
        let reach = window.samples(REACH_S);
        Self {
            length,
            reach,
            pair: std::array::from_fn(|_| vec![0.0; length].into()),
            sums: vec![0.0; 2 * (reach + EDGE) + 1].into(),
            fine: vec![0.0; 2 * reach + 1].into(),
        }
    }

    /// The fullest lags of two channels near `attack`, samples: as they are, and with one reversed.
    pub(crate) fn find(
        &mut self,
        strokes: &[&Stroke],
        timing: &Timing,
        channels: [usize; 2],
        attack: f64,
        window: &Window,
    ) -> [Fullest; 2] {
        self.sums.fill(0.0);
        for (n, stroke) in strokes.iter().enumerate() {
            for (k, pair) in self.pair.iter_mut().enumerate() {
                let lag = if k == 1 { attack } else { 0.0 };
                let start = timing.at[n] - BEFORE_S * window.rate + lag;
                cut(&stroke.audio[channels[k]], start, pair);
                let filter = BandPass::new(BODY_HZ, window.rate);
                filter.run(pair);
                filter.run(pair);
            }
            let level = (power(&self.pair[0]) * power(&self.pair[1])).sqrt() * self.length as f64;
            let scale = timing.fit[n] / level.max(1e-20) as f32;
            let lags = (self.reach + EDGE) as isize;
            for (sum, lag) in self.sums.iter_mut().zip(-lags..=lags) {
                *sum += scale * shifted_dot(&self.pair[0], &self.pair[1], lag);
            }
        }
        let weights: f32 = timing.fit[..strokes.len()].iter().sum();
        [1.0, -1.0].map(|sign| self.highest(attack, sign / weights))
    }

    fn highest(&mut self, attack: f64, scale: f32) -> Fullest {
        let mut best = Fullest {
            lag: attack,
            alike: f32::NEG_INFINITY,
        };
        for step in 0..STEPS {
            let part = step as f64 / STEPS as f64;
            cut(&self.sums, EDGE as f64 + part, &mut self.fine);
            for (n, value) in self.fine.iter().enumerate() {
                if value * scale > best.alike {
                    best = Fullest {
                        lag: attack + n as f64 - self.reach as f64 + part,
                        alike: value * scale,
                    };
                }
            }
        }
        best
    }
}
