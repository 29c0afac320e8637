//! How far a gap may be off: the strokes resampled around the two fronts, with the stack's weights made anew and with them fixed.

use crate::measure::hit::window::Window;
use crate::measure::pair::cymbals::COARSE;
use crate::measure::pair::pairs::FrontWindow;
use crate::measure::pair::polish::{Places, polish};
use crate::measure::pair::rows::Rows;
use crate::measure::pair::stack::{LOCAL_S, Stacker, Strokes};
use crate::measure::pair::timing::MOST_FIT;

/// Cut around each front, seconds before and after: the fine lag's window and the noise's.
const AROUND_S: (f64, f64) = (0.0014, 0.0016);
/// Groups of strokes that are left out in turn.
const GROUPS: usize = 6;
/// Resamplings with random weights.
const RESAMPLINGS: usize = 16;

/// The two channels' strokes around their fronts.
pub(crate) struct Resampler {
    length: usize,
    before: usize,
    rows: Rows<f32>,
    cymbals: Rows<f32>,
    weights: Rows<f32>,
    /// Strokes of one resampling.
    part: Rows<f32>,
    part_cymbals: Rows<f32>,
    part_weights: Rows<f32>,
    stacks: Rows<f32>,
    variance: Box<[f32]>,
    stacker: Stacker,
}

/// What is resampled: filtered strokes of two channels in turn, their weights and predicted noise.
#[derive(Clone, Copy)]
pub(crate) struct Sample<'a> {
    pub strokes: &'a Rows<f32>,
    pub weights: &'a Rows<f32>,
    pub cymbals: Option<&'a Rows<f32>>,
    pub gain: &'a [f32; MOST_FIT],
    pub count: usize,
    pub before: [f32; 2],
    pub at: Places,
    pub sign: f32,
}

/// Standard errors, samples.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Errors {
    /// Groups of strokes left out, weights made anew.
    pub jackknife: f64,
    /// Random weights on the strokes.
    pub bootstrap: f64,
}

impl Resampler {
    pub(crate) fn new(window: &Window) -> Self {
        let before = window.samples(AROUND_S.0).next_multiple_of(COARSE);
        let length = before + window.samples(AROUND_S.1).next_multiple_of(COARSE);
        let rows = || Rows::new(2 * MOST_FIT, length);
        let coarse = || Rows::new(2 * MOST_FIT, length / COARSE);
        debug_assert!(LOCAL_S < AROUND_S.0);
        Self {
            length,
            before,
            rows: rows(),
            cymbals: coarse(),
            weights: rows(),
            part: rows(),
            part_cymbals: coarse(),
            part_weights: rows(),
            stacks: Rows::new(2, length),
            variance: vec![0.0; length].into(),
            stacker: Stacker::new(window.rate, length),
        }
    }

    /// Errors of the fine lag at `sample.at`.
    pub(crate) fn errors(&mut self, sample: Sample<'_>, window: &FrontWindow, rate: f64) -> Errors {
        if sample.count < 2 {
            return Errors::default();
        }
        let guess = self.cut(sample);
        Errors {
            jackknife: self.jackknife(sample, window, rate, guess),
            bootstrap: self.bootstrap(sample, window, rate, guess),
        }
    }

    /// Cuts around the fronts; the places within the cuts.
    fn cut(&mut self, sample: Sample<'_>) -> Places {
        let mut guess = sample.at;
        for k in 0..2 {
            let half = (k as f64 - 0.5) * sample.at.lag;
            let front = (sample.at.middle + half).round() as usize;
            let from = front.saturating_sub(self.before) / COARSE * COARSE;
            let from = from.min(sample.strokes.length() - self.length) / COARSE * COARSE;
            for row in (k..2 * sample.count).step_by(2) {
                let range = from..from + self.length;
                self.rows
                    .row_mut(row)
                    .copy_from_slice(&sample.strokes.row(row)[range.clone()]);
                self.weights
                    .row_mut(row)
                    .copy_from_slice(&sample.weights.row(row)[range]);
                if let Some(cymbals) = sample.cymbals {
                    let coarse = from / COARSE..(from + self.length) / COARSE;
                    self.cymbals
                        .row_mut(row)
                        .copy_from_slice(&cymbals.row(row)[coarse]);
                }
            }
            guess.middle -= 0.5 * from as f64;
            guess.lag -= (2.0 * k as f64 - 1.0) * from as f64;
        }
        guess
    }

    fn polished(&self, sample: Sample<'_>, window: &FrontWindow, rate: f64, guess: Places) -> f64 {
        let stacks = [self.stacks.row(0), self.stacks.row(1)];
        polish(stacks, window, rate, sample.sign, guess).lag
    }

    /// Grouped delete-one jackknife; the groups are dealt by strength.
    fn jackknife(
        &mut self,
        sample: Sample<'_>,
        window: &FrontWindow,
        rate: f64,
        guess: Places,
    ) -> f64 {
        let groups = GROUPS.min(sample.count);
        let mut rank: [usize; MOST_FIT] = std::array::from_fn(|n| n);
        rank[..sample.count].sort_unstable_by(|a, b| sample.gain[*b].total_cmp(&sample.gain[*a]));
        let mut lags = [0.0; GROUPS];
        for (group, lag) in lags.iter_mut().enumerate().take(groups) {
            let mut gain = [1.0; MOST_FIT];
            let mut count = 0;
            for (place, stroke) in rank[..sample.count].iter().enumerate() {
                if place % groups != group {
                    gain[count] = sample.gain[*stroke];
                    self.copy_stroke(*stroke, count);
                    count += 1;
                }
            }
            self.stack_part(sample, &gain, count);
            *lag = self.polished(sample, window, rate, guess);
        }
        let lags = &lags[..groups];
        let mean = lags.iter().sum::<f64>() / groups as f64;
        let squares: f64 = lags.iter().map(|lag| (lag - mean).powi(2)).sum();
        (squares * (groups as f64 - 1.0) / groups as f64).sqrt()
    }

    fn copy_stroke(&mut self, from: usize, to: usize) {
        for k in 0..2 {
            let (from, to) = (2 * from + k, 2 * to + k);
            self.part.row_mut(to).copy_from_slice(self.rows.row(from));
            self.part_cymbals
                .row_mut(to)
                .copy_from_slice(self.cymbals.row(from));
        }
    }

    fn stack_part(&mut self, sample: Sample<'_>, gain: &[f32; MOST_FIT], count: usize) {
        for k in 0..2 {
            let strokes = Strokes {
                rows: &self.part,
                first: k,
                stride: 2,
                count,
                length: self.length,
                gain,
                cymbals: sample.cymbals.is_some().then_some(&self.part_cymbals),
                coarse: COARSE,
                before: sample.before[k],
            };
            self.stacker.stack(
                strokes,
                &mut self.part_weights,
                self.stacks.row_mut(k),
                &mut self.variance,
            );
        }
    }

    /// Standard deviation under exponential weights of the strokes, the stack's weights fixed (Rubin 1981).
    fn bootstrap(
        &mut self,
        sample: Sample<'_>,
        window: &FrontWindow,
        rate: f64,
        guess: Places,
    ) -> f64 {
        let mut random = 0x9E37_79B9_7F4A_7C15u64;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..RESAMPLINGS {
            let mut part = [0.0f32; MOST_FIT];
            for part in &mut part[..sample.count] {
                *part = exponential(&mut random);
            }
            for k in 0..2 {
                self.add_up(sample, k, &part);
            }
            let off = self.polished(sample, window, rate, guess) - guess.lag;
            sum += off;
            squares += off * off;
        }
        let n = RESAMPLINGS as f64;
        let variance = ((squares - sum * sum / n) / (n - 1.0)).max(0.0);
        let count = sample.count as f64;
        (variance * (count + 1.0) / (count - 1.0)).sqrt()
    }

    fn add_up(&mut self, sample: Sample<'_>, k: usize, part: &[f32; MOST_FIT]) {
        let stack = self.stacks.row_mut(k);
        stack.fill(0.0);
        self.variance.fill(1e-30);
        for (n, part) in part.iter().enumerate().take(sample.count) {
            let gain = sample.gain[n];
            let (y, w) = (self.rows.row(2 * n + k), self.weights.row(2 * n + k));
            let sums = stack.iter_mut().zip(self.variance.iter_mut());
            for (((num, den), y), w) in sums.zip(y).zip(w) {
                *num += part * gain * w * y;
                *den += part * gain * gain * w;
            }
        }
        for (h, den) in stack.iter_mut().zip(&self.variance) {
            *h /= den;
        }
    }
}

/// Exponentially distributed, mean one (xorshift: Marsaglia 2003).
fn exponential(state: &mut u64) -> f32 {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    let uniform = ((*state >> 40) as f32 + 0.5) / (1u64 << 24) as f32;
    -uniform.ln()
}
