//! What the mono sum of the whole kit loses at any lag between the overheads: each drum by its own level, the chosen one twice.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::pair::cut::cut;
use crate::measurement::Polarity;

/// What makes a drum full or thin in mono lies here.
const BODY_HZ: Edges = Edges {
    low_hz: 100.0,
    high_hz: 6_000.0,
};
/// A drum's body, from a stroke on.
const LENGTH_S: f64 = 0.038;
/// Farthest lag: 1.5 m of air.
const REACH_S: f64 = 0.0045;
/// Steps of a sample between which a best lag is looked for.
const STEPS: i32 = 8;
/// Extra lags for the interpolation.
const EDGE: usize = 16;
/// Strokes of a drum that are heard.
const STROKES: usize = 8;

/// Where the whole kit's mono sum loses least.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KitMatch {
    /// Second minus first, seconds.
    pub gap_s: f64,
    /// Loss when that is taken out, dB, 0 or less.
    pub loss_db: f64,
    /// Loss as recorded, dB.
    pub recorded_db: f64,
}

/// Energies and cross-correlation of the kit. `new` allocates.
#[derive(Debug)]
pub(crate) struct MonoSum {
    window: Window,
    reach: usize,
    pair: [Box<[f32]>; 2],
    shared: Box<[f32]>,
    energy: f64,
}

impl MonoSum {
    pub(crate) fn new(window: Window) -> Self {
        let length = window.samples(LENGTH_S);
        let reach = window.samples(REACH_S);
        Self {
            reach,
            pair: std::array::from_fn(|_| vec![0.0; length].into()),
            shared: vec![0.0; 2 * (reach + EDGE) + 1].into(),
            energy: 0.0,
            window,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.shared.fill(0.0);
        self.energy = 0.0;
    }

    /// Adds a drum's strokes, of which there are `count`; together they weigh `weight` mean strokes.
    pub(crate) fn add<'a>(
        &mut self,
        strokes: impl Iterator<Item = &'a Stroke>,
        count: usize,
        weight: f32,
    ) {
        let heard = count.min(STROKES);
        for stroke in strokes.skip(count - heard) {
            self.add_stroke(stroke, weight / heard as f32);
        }
    }

    fn add_stroke(&mut self, stroke: &Stroke, weight: f32) {
        for (pair, audio) in self.pair.iter_mut().zip(&stroke.audio) {
            let from = self.window.kept_before;
            pair.copy_from_slice(&audio[from..from + pair.len()]);
            let filter = BandPass::new(BODY_HZ, self.window.rate);
            filter.run(pair);
            filter.run(pair);
            self.energy += f64::from(weight) * power(pair) * pair.len() as f64;
        }
        let lags = (self.reach + EDGE) as isize;
        for (shared, lag) in self.shared.iter_mut().zip(-lags..=lags) {
            *shared += weight * shifted_dot(&self.pair[0], &self.pair[1], lag);
        }
    }

    /// Loss of the mono sum when the second is taken `lag_s` earlier, dB against two equal channels in time, 0 or less.
    /// `sign` is -1 when it is turned over as well.
    pub(crate) fn loss_db(&self, lag_s: f64, sign: f64) -> f64 {
        if self.energy <= 0.0 {
            return 0.0;
        }
        let mut shared = [0.0];
        let place = lag_s * self.window.rate + (self.reach + EDGE) as f64;
        cut(&self.shared, place, &mut shared);
        let sum = self.energy + 2.0 * sign * f64::from(shared[0]);
        10.0 * (sum / (2.0 * self.energy)).max(1e-12).log10()
    }

    /// The lag at which least is lost, on a grid of an eighth of a sample.
    pub(crate) fn best(&self, polarity: Polarity) -> KitMatch {
        let sign = if polarity == Polarity::Inverted {
            -1.0
        } else {
            1.0
        };
        let last = self.reach as i32 * STEPS;
        let mut best = (f64::NEG_INFINITY, 0.0);
        for step in -last..=last {
            let lag_s = f64::from(step) / f64::from(STEPS) / self.window.rate;
            let loss = self.loss_db(lag_s, sign);
            if loss > best.0 {
                best = (loss, lag_s);
            }
        }
        KitMatch {
            gap_s: best.1,
            loss_db: best.0,
            recorded_db: self.loss_db(0.0, 1.0),
        }
    }
}
