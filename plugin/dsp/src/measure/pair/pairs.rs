//! Scores pairs of candidate fronts over first, gap and polarity: both fronts, and how alike the stacks and the strokes are there.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::pair::cut::cut;
use crate::measure::pair::onsets::Onset;
use crate::measure::pair::rows::Rows;

/// Compared from this long before a front ...
pub(crate) const BEFORE_S: f64 = 0.0004;
/// ... to this long after: the front itself, before the first reflections.
pub(crate) const AFTER_S: f64 = 0.0006;
/// The fine lag is looked for within this much of the two candidates.
const REACH_S: f64 = 0.000_16;
/// Steps of the fine lag, a sample.
const STEPS: usize = 8;
/// Extra lags on either side, for the interpolation.
const EDGE: usize = 6;
/// Longest window and reach at the highest working rate (88.2 kHz).
const LONGEST: usize = 96;
/// Fine lags there.
const FINE: usize = 256;
/// A front higher than this (log of the power ratio) is as sure as can be.
const SURE_FRONT: f32 = 4.5;
/// Correlation of the stacks and of the strokes that is neither for nor against.
const NEUTRAL: (f32, f32) = (0.6, 0.2);
/// Worth of a correlation of one against a front's height.
const LIKENESS: f32 = 3.0;
/// The strokes' correlation against the stacks' in the fine lag.
const STROKES: f32 = 1.2;
/// Worth of a sample of disagreement between stacks and strokes, at 44.1 kHz, and how much of it counts.
const DISAGREEMENT: (f32, f32) = (0.25, 6.0);
/// Worth of something else having arrived before.
pub(crate) const PRECEDED: f32 = 2.2;
/// A heavy-tailed prior on the gap: weight, and the scale in seconds (0.25 m of air: overheads are placed by a string).
const PRIOR: (f32, f32) = (0.7, 0.25 / 343.0);

/// One pair of fronts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Pair {
    /// Samples of the two stacks.
    pub at: [usize; 2],
    /// Second minus first in samples of their stacks, with the fine lag.
    pub lag: f64,
    pub score: f32,
    /// Height of the lower of the two fronts.
    pub height: f32,
    /// One channel has reversed polarity.
    pub inverted: bool,
    /// How much likelier this polarity is than the other: difference of the correlations' heights.
    pub clear_polarity: f32,
    /// Correlation of the stacks, and of the strokes.
    pub coherent: f32,
    pub strokes: f32,
}

/// What the two channels' pairs are scored by.
#[derive(Clone, Copy)]
pub(crate) struct Scene<'a> {
    pub rate: f64,
    pub templates: [&'a [f32]; 2],
    /// Filtered strokes and their weights: rows of stroke and channel.
    pub strokes: &'a Rows<f32>,
    pub weights: &'a Rows<f32>,
    pub count: usize,
    /// Second's centre minus first's: what is added to a lag of the stacks to make a gap. Samples.
    pub apart: f64,
    /// Largest gap, samples; `None` where there is none to be had.
    pub farthest: Option<f64>,
}

/// A raised-cosine window around a front.
#[derive(Debug)]
pub(crate) struct FrontWindow {
    pub before: usize,
    shape: Box<[f32]>,
    reach: usize,
}

impl FrontWindow {
    /// The fronts alone.
    pub(crate) fn new(rate: f64) -> Self {
        Self::lasting(rate, AFTER_S)
    }

    /// The fronts and what follows them for so long.
    pub(crate) fn lasting(rate: f64, after_s: f64) -> Self {
        let before = (BEFORE_S * rate).round() as usize;
        let after = (after_s * rate).round() as usize;
        Self {
            before,
            shape: window(before, after),
            reach: (REACH_S * rate).round() as usize,
        }
    }
}

impl FrontWindow {
    /// Samples on either side within which the fine lag is looked for.
    pub(crate) fn reach(&self) -> f64 {
        self.reach as f64
    }

    pub(crate) fn length(&self) -> usize {
        self.shape.len()
    }

    pub(crate) fn apply(&self, samples: &mut [f32]) {
        for (x, shape) in samples.iter_mut().zip(&self.shape) {
            *x *= shape;
        }
    }
}

/// Rises over half of what is before the front and falls over half of what is after.
fn window(before: usize, after: usize) -> Box<[f32]> {
    let (rise, fall, length) = (before as f64 / 2.0, after as f64 / 2.0, before + after);
    let shape = |n: usize| {
        let from_end = (length - n) as f64;
        let slope = |part: f64| 0.5 - 0.5 * (std::f64::consts::PI * part.min(1.0)).cos();
        (slope(n as f64 / rise) * slope(from_end / fall)) as f32
    };
    (0..length).map(shape).collect()
}

/// Correlations at fine lags from `-reach` to `reach`.
#[derive(Clone, Copy)]
struct Fine {
    values: [f32; FINE],
    count: usize,
}

/// Scores one pair; `None` when it is farther apart than air allows.
pub(crate) fn score(
    scene: Scene<'_>,
    window: &FrontWindow,
    first: Onset,
    second: Onset,
) -> Option<Pair> {
    let apart = second.at as f64 - first.at as f64 + scene.apart;
    if scene
        .farthest
        .is_some_and(|farthest| apart.abs() > farthest)
    {
        return None;
    }
    let at = [first.at, second.at];
    let stacks = fine(window, correlate_stacks(scene, window, at));
    let strokes = fine(window, correlate_strokes(scene, window, at));
    let both = |n: usize| stacks.values[n] + STROKES * strokes.values[n];
    let stronger = |best: usize, n: usize| {
        if both(n).abs() > both(best).abs() {
            n
        } else {
            best
        }
    };
    let top = (0..stacks.count).fold(0, stronger);
    let sign = both(top).signum();
    let opposed = (0..stacks.count)
        .map(|n| -sign * both(n))
        .fold(0.0, f32::max);
    let (coherent, alike) = (sign * stacks.values[top], sign * strokes.values[top]);
    let disagree = (highest(&stacks, sign) as f32 - highest(&strokes, sign) as f32).abs()
        / STEPS as f32
        * (44_100.0 / scene.rate as f32);
    let lag = (top as f64 - (stacks.count / 2) as f64) / STEPS as f64;
    let far = if scene.farthest.is_some() {
        (apart / scene.rate) as f32 / PRIOR.1
    } else {
        0.0
    };
    let score = first.height.min(SURE_FRONT)
        + second.height.min(SURE_FRONT)
        + LIKENESS * (coherent - NEUTRAL.0 + alike - NEUTRAL.1)
        - DISAGREEMENT.0 * disagree.min(DISAGREEMENT.1)
        - PRIOR.0 * (far * far).ln_1p()
        - PRECEDED * (first.preceded + second.preceded);
    Some(Pair {
        at,
        lag: second.at as f64 - first.at as f64 + lag,
        score,
        height: first.height.min(second.height),
        inverted: sign < 0.0,
        clear_polarity: sign * both(top) - opposed,
        coherent,
        strokes: alike,
    })
}

fn highest(fine: &Fine, sign: f32) -> usize {
    let higher = |best: usize, n: usize| {
        if sign * fine.values[n] > sign * fine.values[best] {
            n
        } else {
            best
        }
    };
    (0..fine.count).fold(0, higher)
}

/// A correlation at whole lags, scaled so that likeness is at most one.
type Coarse = [f32; 2 * LONGEST];

fn correlate_stacks(scene: Scene<'_>, window: &FrontWindow, at: [usize; 2]) -> Coarse {
    let mut cuts = [[0.0f32; LONGEST]; 2];
    let mut energy = [0.0f32; 2];
    for channel in 0..2 {
        let template = scene.templates[channel];
        energy[channel] = cut_front(template, at[channel], window, &mut cuts[channel]);
    }
    let mut out = [0.0; 2 * LONGEST];
    add_correlation(&cuts, window, &mut out);
    scale(&mut out, energy);
    out
}

fn correlate_strokes(scene: Scene<'_>, window: &FrontWindow, at: [usize; 2]) -> Coarse {
    let mut out = [0.0; 2 * LONGEST];
    let mut energy = [0.0f32; 2];
    for stroke in 0..scene.count {
        let mut cuts = [[0.0f32; LONGEST]; 2];
        for channel in 0..2 {
            let row = 2 * stroke + channel;
            let (y, w) = (scene.strokes.row(row), scene.weights.row(row));
            let from = at[channel] - window.before;
            let samples = y[from..].iter().zip(&w[from..]).zip(&window.shape);
            for (out, ((y, w), shape)) in cuts[channel].iter_mut().zip(samples) {
                *out = y * w.sqrt() * shape;
                energy[channel] += *out * *out;
            }
        }
        add_correlation(&cuts, window, &mut out);
    }
    scale(&mut out, energy);
    out
}

/// Cuts a windowed front; its energy.
fn cut_front(samples: &[f32], at: usize, window: &FrontWindow, out: &mut [f32]) -> f32 {
    let mut energy = 0.0;
    let front = samples[at - window.before..].iter().zip(&window.shape);
    for (out, (x, shape)) in out.iter_mut().zip(front) {
        *out = x * shape;
        energy += *out * *out;
    }
    energy
}

fn add_correlation(cuts: &[[f32; LONGEST]; 2], window: &FrontWindow, out: &mut Coarse) {
    let lags = (window.reach + EDGE) as isize;
    let length = window.shape.len();
    let [first, second] = cuts;
    for (out, lag) in out.iter_mut().zip(-lags..=lags) {
        *out += shifted_dot(&first[..length], &second[..length], lag);
    }
}

fn scale(out: &mut Coarse, energy: [f32; 2]) {
    let norm = (energy[0] * energy[1]).sqrt().max(1e-30);
    out.iter_mut().for_each(|x| *x /= norm);
}

fn fine(window: &FrontWindow, coarse: Coarse) -> Fine {
    let lags = 2 * window.reach + 1;
    let mut fine = Fine {
        values: [0.0; FINE],
        count: (lags - 1) * STEPS + 1,
    };
    for step in 0..STEPS {
        let mut part = [0.0; LONGEST];
        let part = &mut part[..lags];
        cut(&coarse, EDGE as f64 + step as f64 / STEPS as f64, part);
        for (out, x) in fine.values[..fine.count][step..]
            .iter_mut()
            .step_by(STEPS)
            .zip(part)
        {
            *out = *x;
        }
    }
    fine
}
