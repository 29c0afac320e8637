//! A robust weighted stack: each stroke counts at each moment by one over its own local noise.

use crate::measure::hit::filters::smooth;
use crate::measure::pair::rows::Rows;
use crate::measure::pair::timing::MOST_FIT;

/// A stroke's noise is measured over this long: a cymbal's power does not change faster.
pub(crate) const LOCAL_S: f64 = 0.0006;
/// Strokes of one drum differ by this part of their power: two per cent.
const UNLIKE: f32 = 0.02;
/// Noise below this part of a stroke's mean power is rounding.
const ROUNDING: f32 = 1e-5;
/// Rounds of weights and stack.
const ROUNDS: usize = 3;
/// Half of the noise is what the stack does not explain, half what the cymbal's power above 7 kHz predicts.
const PREDICTED: f32 = 0.5;
/// Softer strokes do not lift the noise by more than this in the first, middle stack.
const SOFTEST: f32 = 0.3;

/// One channel of a fit's strokes, cut so that they lie on each other.
#[derive(Clone, Copy)]
pub(crate) struct Strokes<'a> {
    /// One row a stroke.
    pub rows: &'a Rows<f32>,
    /// Row of the first stroke, and rows from one stroke to the next.
    pub first: usize,
    pub stride: usize,
    pub count: usize,
    /// Samples of each row that are used.
    pub length: usize,
    /// Level of each.
    pub gain: &'a [f32; MOST_FIT],
    /// Predicted power of what is not the drum, one row a stroke, one value every [`Self::coarse`] samples.
    pub cymbals: Option<&'a Rows<f32>>,
    pub coarse: usize,
    /// Power heard before the strokes: what a few strokes cannot tell apart from the drum.
    pub before: f32,
}

impl<'a> Strokes<'a> {
    pub(crate) fn row(&self, stroke: usize) -> &'a [f32] {
        &self.rows.row(self.first + stroke * self.stride)[..self.length]
    }

    fn cymbals(&self, stroke: usize) -> Option<&'a [f32]> {
        self.cymbals
            .map(|rows| rows.row(self.first + stroke * self.stride))
    }
}

/// Scratch for stacks up to a length.
#[derive(Debug)]
pub(crate) struct Stacker {
    local: usize,
    power: Box<[f32]>,
    explained: Box<[f32]>,
    scratch: Box<[f32]>,
    numerator: Box<[f32]>,
    denominator: Box<[f32]>,
}

impl Stacker {
    pub(crate) fn new(rate: f64, longest: usize) -> Self {
        let row = || vec![0.0; longest].into();
        Self {
            local: ((LOCAL_S * rate * 0.45) as usize).max(1),
            power: row(),
            explained: row(),
            scratch: row(),
            numerator: row(),
            denominator: row(),
        }
    }

    /// Fills the template, its variance, and each stroke's weights (rows laid out as the strokes').
    pub(crate) fn stack(
        &mut self,
        strokes: Strokes<'_>,
        weights: &mut Rows<f32>,
        template: &mut [f32],
        variance: &mut [f32],
    ) {
        middle(strokes, template);
        for _ in 0..ROUNDS {
            self.weigh(strokes, template, weights);
            self.add_up(strokes, weights);
            let n = strokes.length;
            for ((h, v), (num, den)) in template[..n]
                .iter_mut()
                .zip(variance.iter_mut())
                .zip(self.numerator.iter().zip(&self.denominator))
            {
                *h = num / den;
                *v = 1.0 / den;
            }
        }
    }

    /// Weights one over the noise that each stroke has at each moment beside the template.
    pub(crate) fn weigh(
        &mut self,
        strokes: Strokes<'_>,
        template: &[f32],
        weights: &mut Rows<f32>,
    ) {
        let n = strokes.length;
        for (power, h) in self.power.iter_mut().zip(&template[..n]) {
            *power = h * h;
        }
        smooth(
            &self.power[..n],
            self.local,
            &mut self.scratch,
            &mut self.explained[..n],
        );
        let mut residual_mean = [0.0f32; MOST_FIT];
        let mut predicted_mean = [0.0f32; MOST_FIT];
        let mut level = [0.0f32; MOST_FIT];
        for stroke in 0..strokes.count {
            let row = strokes.row(stroke);
            let gain = strokes.gain[stroke];
            for ((power, y), h) in self.power.iter_mut().zip(row).zip(&template[..n]) {
                let rest = y - gain * h;
                *power = rest * rest;
            }
            residual_mean[stroke] = mean(&self.power[..n]);
            level[stroke] = row.iter().map(|y| y * y).sum::<f32>() / n as f32;
            let row = weights.row_mut(strokes.first + stroke * strokes.stride);
            smooth(
                &self.power[..n],
                self.local,
                &mut self.scratch,
                &mut row[..n],
            );
            if let Some(cymbals) = strokes.cymbals(stroke) {
                predicted_mean[stroke] = mean(&cymbals[..n.div_ceil(strokes.coarse)]);
            }
        }
        let count = strokes.count;
        let floor = ROUNDING * middle_of(&mut level[..count]) + 1e-20;
        let floor = floor + strokes.before / count as f32;
        let scale = middle_of(&mut residual_mean[..count])
            / middle_of(&mut predicted_mean[..count]).max(1e-30);
        for stroke in 0..count {
            let unlike = UNLIKE * strokes.gain[stroke].powi(2);
            let cymbals = strokes.cymbals(stroke);
            let row = weights.row_mut(strokes.first + stroke * strokes.stride);
            for (n, (w, explained)) in row.iter_mut().zip(&self.explained[..n]).enumerate() {
                let noise = match cymbals {
                    Some(q) => (1.0 - PREDICTED) * *w + PREDICTED * scale * q[n / strokes.coarse],
                    None => *w,
                };
                *w = 1.0 / (noise + unlike * explained + floor);
            }
        }
    }

    fn add_up(&mut self, strokes: Strokes<'_>, weights: &Rows<f32>) {
        let n = strokes.length;
        self.numerator[..n].fill(0.0);
        self.denominator[..n].fill(0.0);
        for stroke in 0..strokes.count {
            let gain = strokes.gain[stroke];
            let w = &weights.row(strokes.first + stroke * strokes.stride)[..n];
            let sums = self.numerator.iter_mut().zip(self.denominator.iter_mut());
            for (((num, den), y), w) in sums.zip(strokes.row(stroke)).zip(w) {
                *num += gain * w * y;
                *den += gain * gain * w;
            }
        }
    }

    /// The sums behind the last stack: weighed strokes, and weights.
    pub(crate) fn sums(&self) -> (&[f32], &[f32]) {
        (&self.numerator, &self.denominator)
    }
}

fn mean(x: &[f32]) -> f32 {
    x.iter().sum::<f32>() / x.len().max(1) as f32
}

/// The upper middle value.
pub(crate) fn middle_of(values: &mut [f32]) -> f32 {
    let half = values.len() / 2;
    *values.select_nth_unstable_by(half, f32::total_cmp).1
}

/// The middle stroke at each moment.
fn middle(strokes: Strokes<'_>, template: &mut [f32]) {
    let mut values = [0.0; MOST_FIT];
    for (n, out) in template.iter_mut().enumerate().take(strokes.length) {
        for (stroke, value) in values.iter_mut().enumerate().take(strokes.count) {
            *value = strokes.row(stroke)[n] / strokes.gain[stroke].max(SOFTEST);
        }
        let values = &mut values[..strokes.count];
        let upper = middle_of(values);
        *out = if values.len() % 2 == 1 {
            upper
        } else {
            let lower = values[..values.len() / 2]
                .iter()
                .copied()
                .fold(f32::MIN, f32::max);
            0.5 * (upper + lower)
        };
    }
}
