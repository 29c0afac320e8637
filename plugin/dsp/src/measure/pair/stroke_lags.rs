//! Each stroke's own lag: where nothing else sounds, the strokes themselves say more than their stack.

use crate::measure::pair::pairs::FrontWindow;
use crate::measure::pair::polish::{Places, polish, polish_together};
use crate::measure::pair::rows::Rows;
use crate::measure::pair::timing::MOST_FIT;

/// From this far above what was heard before, the strokes begin to count, dB ...
const BEGINS_DB: f64 = 15.0;
/// ... and from this far on they count alone: a front 25 dB over noise is timed to a tenth of its rise.
const ALONE_DB: f64 = 25.0;
/// A stroke whose lag is farther than this from the middle one counts by the inverse of how far: 1.345 deviations of a normal
/// distribution (Huber 1964).
const HUBER: f64 = 1.345;
/// Standard deviation over median absolute deviation (Hampel 1974).
const MAD_TO_DEVIATION: f64 = 1.4826;
/// Deviations below this are rounding, samples.
const ROUNDING: f64 = 0.02;

/// What the strokes say together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct StrokeLags {
    /// Second minus first in samples of the stacks.
    pub lag: f64,
    /// Standard error of it.
    pub error: f64,
    /// How much they count against the stack, 0 to 1.
    pub part: f64,
    /// Each stroke's own, in samples of the stacks; `None` where its front is covered.
    pub each: [Option<f64>; MOST_FIT],
}

/// Filtered strokes of two channels in turn, and the power heard before them.
#[derive(Clone, Copy)]
pub(crate) struct Fronts<'a> {
    pub strokes: &'a Rows<f32>,
    pub count: usize,
    pub before: [f32; 2],
    pub at: Places,
    pub sign: f32,
}

/// The strokes' lags around a pair of fronts.
pub(crate) fn stroke_lags(fronts: Fronts<'_>, window: &FrontWindow, rate: f64) -> StrokeLags {
    let mut lags = [0.0; MOST_FIT];
    let mut above = [0.0; MOST_FIT];
    let pairs = (0..fronts.count).map(|n| [0, 1].map(|k| fronts.strokes.row(2 * n + k)));
    let together = polish_together(pairs.clone(), window, rate, fronts.sign, fronts.at);
    for (n, rows) in pairs.enumerate() {
        lags[n] = polish(rows, window, rate, fronts.sign, together).lag;
        above[n] = above_db(rows, fronts, window);
    }
    let mut each = [None; MOST_FIT];
    for ((each, lag), above) in each.iter_mut().zip(lags).zip(above).take(fronts.count) {
        *each = (above >= BEGINS_DB).then_some(lag);
    }
    let above = middle(&mut above[..fronts.count]);
    StrokeLags {
        lag: together.lag,
        error: standard_error(&lags[..fronts.count]),
        part: ((above - BEGINS_DB) / (ALONE_DB - BEGINS_DB)).clamp(0.0, 1.0),
        each,
    }
}

/// Power of the weaker channel's front over what was heard before, dB.
fn above_db(rows: [&[f32]; 2], fronts: Fronts<'_>, window: &FrontWindow) -> f64 {
    let ratio = |k: usize| {
        let at = fronts.at.middle + (k as f64 - 0.5) * fronts.at.lag;
        let from = (at as usize).min(rows[k].len() - window.length());
        let front = &rows[k][from..from + window.length() / 2];
        crate::measure::hit::stroke::power(front) / f64::from(fronts.before[k]).max(1e-20)
    };
    10.0 * ratio(0).min(ratio(1)).max(1e-9).log10()
}

/// Standard error of a mean in which far values count less.
fn standard_error(lags: &[f64]) -> f64 {
    let mut sorted = [0.0; MOST_FIT];
    let sorted = &mut sorted[..lags.len()];
    sorted.copy_from_slice(lags);
    let mut mean = middle(sorted);
    for (out, lag) in sorted.iter_mut().zip(lags) {
        *out = (lag - mean).abs();
    }
    let deviation = (MAD_TO_DEVIATION * middle(sorted)).max(ROUNDING);
    let weight = |lag: f64, mean: f64| (HUBER * deviation / (lag - mean).abs()).min(1.0);
    let mut weights = 0.0;
    for _ in 0..8 {
        weights = lags.iter().map(|lag| weight(*lag, mean)).sum();
        mean = lags.iter().map(|lag| weight(*lag, mean) * lag).sum::<f64>() / weights;
    }
    let squares = lags
        .iter()
        .map(|lag| (weight(*lag, mean) * (lag - mean)).powi(2));
    let count = lags.len() as f64;
    squares.sum::<f64>().sqrt() / weights * (count / (count - 1.0).max(1.0)).sqrt()
}

fn middle(values: &mut [f64]) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    let upper = values[values.len() / 2];
    0.5 * (upper + values[(values.len() - 1) / 2])
}
