//! The correlation of a pair over the lags around zero, as a drawing needs it.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::lag_curve::{LagCurve, POINTS, REACH_S};
use crate::measure::pair::cut::cut;

/// The fronts: attack band, and how long around a stroke, seconds before and after.
const FRONTS: (Edges, f64, f64) = (
    Edges {
        low_hz: 800.0,
        high_hz: 9_000.0,
    },
    0.001,
    0.007,
);
/// The body: the whole drum, and how long.
const BODY: (Edges, f64, f64) = (
    Edges {
        low_hz: 100.0,
        high_hz: 6_000.0,
    },
    0.001,
    0.040,
);
/// Strokes that are drawn.
const STROKES: usize = 8;
/// Extra lags for the interpolation.
const EDGE: usize = 16;

/// Scratch for curves.
#[derive(Debug)]
pub(crate) struct CurveDrawer {
    window: Window,
    pair: [Box<[f32]>; 2],
    coarse: Box<[f32]>,
}

impl CurveDrawer {
    pub(crate) fn new(window: Window) -> Self {
        let length = window.samples(BODY.1 + BODY.2);
        let lags = 2 * (window.samples(REACH_S) + EDGE) + 3;
        Self {
            pair: std::array::from_fn(|_| vec![0.0; length].into()),
            coarse: vec![0.0; lags].into(),
            window,
        }
    }

    /// Draws two channels of the strokes.
    pub(crate) fn draw<'a>(
        &mut self,
        strokes: impl Iterator<Item = &'a Stroke> + Clone,
        channels: [usize; 2],
    ) -> LagCurve {
        let mut curve = LagCurve::EMPTY;
        let skipped = strokes.clone().count().saturating_sub(STROKES);
        for (part, out) in [(FRONTS, &mut curve.fronts), (BODY, &mut curve.body)] {
            self.coarse.fill(0.0);
            let mut norm = 0.0;
            for stroke in strokes.clone().skip(skipped) {
                norm += self.add(stroke, channels, part);
            }
            self.fill(norm, out);
        }
        curve
    }

    /// Adds one stroke's correlation; the product of its levels.
    fn add(&mut self, stroke: &Stroke, channels: [usize; 2], part: (Edges, f64, f64)) -> f64 {
        let (edges, before, after) = part;
        let w = self.window;
        let from = w.kept_before - w.samples(before);
        let length = w.samples(before + after);
        for (pair, channel) in self.pair.iter_mut().zip(channels) {
            pair[..length].copy_from_slice(&stroke.audio[channel][from..from + length]);
            BandPass::new(edges, w.rate).run(&mut pair[..length]);
        }
        let [first, second] = self.pair.each_ref().map(|pair| &pair[..length]);
        let lags = (self.coarse.len() / 2) as isize;
        for (sum, lag) in self.coarse.iter_mut().zip(-lags..=lags) {
            *sum += shifted_dot(first, second, lag);
        }
        (power(first) * power(second)).sqrt() * length as f64
    }

    fn fill(&self, norm: f64, out: &mut [f32; POINTS]) {
        let middle = (self.coarse.len() / 2) as f64;
        for (point, out) in out.iter_mut().enumerate() {
            let mut value = [0.0];
            let place = middle + LagCurve::lag_s(point) * self.window.rate;
            cut(&self.coarse, place, &mut value);
            *out = (value[0] / norm.max(1e-20) as f32).clamp(-1.0, 1.0);
        }
    }
}
