//! What the mono sum of one drum loses at any lag between the overheads: energies and cross-correlation of its mean stroke.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::drum_sum::{DrumSum, POINTS, REACH_S};
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::pair::cut::cut;

/// What makes a drum full or thin in mono lies here.
const BODY_HZ: Edges = Edges {
    low_hz: 100.0,
    high_hz: 6_000.0,
};
/// A drum's body, from a stroke on.
const LENGTH_S: f64 = 0.038;
/// Extra lags for the interpolation.
const EDGE: usize = 16;
/// Strokes of a drum that are heard.
const STROKES: usize = 8;

/// The mean stroke of one drum.
#[derive(Clone, Debug)]
pub(crate) struct MeanStroke {
    rate: f64,
    /// Place of lag 0 in `shared`.
    middle: usize,
    /// Energies of first and second.
    energies: [f64; 2],
    /// Cross-correlation at each lag, second later.
    shared: Box<[f32]>,
}

impl MeanStroke {
    pub(crate) fn new(window: &Window) -> Self {
        let middle = window.samples(REACH_S) + EDGE;
        Self {
            rate: window.rate,
            middle,
            energies: [0.0; 2],
            shared: vec![0.0; 2 * middle + 1].into(),
        }
    }

    /// Silence.
    pub(crate) fn clear(&mut self) {
        self.energies = [0.0; 2];
        self.shared.fill(0.0);
    }

    /// Adds `weight` times another.
    pub(crate) fn add(&mut self, other: &Self, weight: f32) {
        for (energy, more) in self.energies.iter_mut().zip(other.energies) {
            *energy += f64::from(weight) * more;
        }
        for (shared, more) in self.shared.iter_mut().zip(&other.shared) {
            *shared += weight * more;
        }
    }

    /// Energy of the mono sum when the second is taken `lag_s` earlier; `sign` is -1 when it is turned
    /// over as well.
    pub(crate) fn sum_energy(&self, lag_s: f64, sign: f64) -> f64 {
        let mut shared = [0.0];
        cut(
            &self.shared,
            lag_s * self.rate + self.middle as f64,
            &mut shared,
        );
        let [first, second] = self.energies;
        (first + second + 2.0 * sign * f64::from(shared[0])).max(0.0)
    }

    /// Energy of the mono sum of the same channels in time.
    pub(crate) fn coherent_energy(&self) -> f64 {
        let [first, second] = self.energies;
        (first.sqrt() + second.sqrt()).powi(2)
    }

    /// Samples a second.
    pub(crate) fn rate(&self) -> f64 {
        self.rate
    }

    /// Farthest lag, samples to both sides.
    pub(crate) fn reach(&self) -> usize {
        self.middle - EDGE
    }

    /// As drawings need it; `None` for silence.
    pub(crate) fn drum_sum(&self) -> Option<DrumSum> {
        let [first, second] = self.energies;
        let whole = first + second;
        let mut shared = [0.0; POINTS];
        for (point, shared) in shared.iter_mut().enumerate() {
            let place = DrumSum::gap_s(point) * self.rate + self.middle as f64;
            cut(&self.shared, place, std::slice::from_mut(shared));
            *shared /= whole as f32;
        }
        (whole > 0.0).then_some(DrumSum {
            first_part: (first / whole) as f32,
            shared,
        })
    }
}

/// Works a mean stroke out. `new` allocates.
#[derive(Debug)]
pub(crate) struct MonoSum {
    window: Window,
    pair: [Box<[f32]>; 2],
}

impl MonoSum {
    pub(crate) fn new(window: Window) -> Self {
        let length = window.samples(LENGTH_S);
        Self {
            pair: std::array::from_fn(|_| vec![0.0; length].into()),
            window,
        }
    }

    /// The mean of the newest of a drum's strokes; silence without any.
    pub(crate) fn measure<'a>(
        &mut self,
        strokes: impl Iterator<Item = &'a Stroke> + Clone,
        mean: &mut MeanStroke,
    ) {
        mean.clear();
        let newer = |order: u64| strokes.clone().filter(move |other| other.order > order);
        let heard = strokes
            .clone()
            .filter(|stroke| newer(stroke.order).count() < STROKES);
        let weight = 1.0 / strokes.clone().count().min(STROKES) as f32;
        for stroke in heard {
            self.add(stroke, weight, mean);
        }
    }

    fn add(&mut self, stroke: &Stroke, weight: f32, mean: &mut MeanStroke) {
        let channels = self.pair.iter_mut().zip(&stroke.audio);
        for ((pair, audio), energy) in channels.zip(&mut mean.energies) {
            let from = self.window.kept_before;
            pair.copy_from_slice(&audio[from..from + pair.len()]);
            let filter = BandPass::new(BODY_HZ, self.window.rate);
            filter.run(pair);
            filter.run(pair);
            *energy += f64::from(weight) * power(pair) * pair.len() as f64;
        }
        let lags = mean.middle as isize;
        for (shared, lag) in mean.shared.iter_mut().zip(-lags..=lags) {
            *shared += weight * shifted_dot(&self.pair[0], &self.pair[1], lag);
        }
    }
}
