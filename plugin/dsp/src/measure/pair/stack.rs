//! A robust weighted stack: each stroke counts at each moment by one over its own local noise.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::{smooth, smooth_one};
use crate::measure::pair::middle::{SORTED_ABREAST, middle};
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

/// Strokes that are smoothed side by side.
const ABREAST: usize = 4;

/// Scratch for stacks up to a length.
#[derive(Debug)]
pub(crate) struct Stacker {
    local: usize,
    /// Of strokes side by side.
    power: Box<[[f32; ABREAST]]>,
    scratch: Box<[[f32; ABREAST]]>,
    smoothed: Box<[[f32; ABREAST]]>,
    explained: Box<[f32]>,
    numerator: Box<[f32]>,
    denominator: Box<[f32]>,
}

impl Stacker {
    pub(crate) fn new(rate: f64, longest: usize) -> Self {
        let row = || vec![0.0; longest].into();
        let abreast = || vec![[0.0; ABREAST]; longest].into();
        Self {
            local: ((LOCAL_S * rate * 0.45) as usize).max(1),
            power: abreast(),
            scratch: abreast(),
            smoothed: abreast(),
            explained: row(),
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
        let n = strokes.length;
        let softest = |stroke: usize| 1.0 / strokes.gain[stroke].max(SOFTEST);
        middle(
            strokes.count,
            |stroke| (strokes.row(stroke), softest(stroke)),
            &mut [[0.0; SORTED_ABREAST]; MOST_FIT],
            &mut template[..n],
        );
        let floor = floor(strokes);
        for _ in 0..ROUNDS {
            self.weigh(strokes, floor, template, weights);
            self.add_up(strokes, weights);
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
    fn weigh(
        &mut self,
        strokes: Strokes<'_>,
        floor: f32,
        template: &[f32],
        weights: &mut Rows<f32>,
    ) {
        self.explain(&template[..strokes.length]);
        let mut rest = [0.0f32; MOST_FIT];
        for (group, rest) in rest[..strokes.count].chunks_mut(ABREAST).enumerate() {
            self.leave(strokes, template, group * ABREAST, rest, weights);
        }
        let scale = self.cymbals_scale(strokes, &mut rest[..strokes.count]);
        for stroke in 0..strokes.count {
            let unlike = UNLIKE * strokes.gain[stroke].powi(2);
            let row = weights.row_mut(strokes.first + stroke * strokes.stride);
            let row = row[..strokes.length].chunks_mut(strokes.coarse);
            let explained = self.explained[..strokes.length].chunks(strokes.coarse);
            let cymbals = strokes.cymbals(stroke);
            for (n, (row, explained)) in row.zip(explained).enumerate() {
                let (part, predicted) = cymbals.map_or((1.0, 0.0), |power| {
                    (1.0 - PREDICTED, PREDICTED * scale * power[n])
                });
                let least = predicted + floor;
                for (w, explained) in row.iter_mut().zip(explained) {
                    *w = 1.0 / (part * *w + unlike * explained + least);
                }
            }
        }
    }

    /// Smooths the template's own power.
    fn explain(&mut self, template: &[f32]) {
        let n = template.len();
        let power = &mut self.power.as_flattened_mut()[..n];
        for (power, h) in power.iter_mut().zip(template) {
            *power = h * h;
        }
        let scratch = self.scratch.as_flattened_mut();
        smooth_one(power, self.local, scratch, &mut self.explained[..n]);
    }

    /// Smooths what the template leaves of a few strokes into their rows of weights; its mean power.
    fn leave(
        &mut self,
        strokes: Strokes<'_>,
        template: &[f32],
        from: usize,
        rest: &mut [f32],
        weights: &mut Rows<f32>,
    ) {
        let n = strokes.length;
        let stroke = |k: usize| from + k.min(rest.len() - 1);
        let rows: [&[f32]; ABREAST] = std::array::from_fn(|k| strokes.row(stroke(k)));
        let gain: [f32; ABREAST] = std::array::from_fn(|k| strokes.gain[stroke(k)]);
        let mut sum = [0.0f32; ABREAST];
        for (n, (power, h)) in self.power.iter_mut().zip(&template[..n]).enumerate() {
            for k in 0..ABREAST {
                let off = rows[k][n] - gain[k] * h;
                power[k] = off * off;
                sum[k] += power[k];
            }
        }
        let smoothed = &mut self.smoothed[..n];
        smooth(&self.power[..n], self.local, &mut self.scratch, smoothed);
        for (k, (rest, sum)) in rest.iter_mut().zip(sum).enumerate() {
            *rest = sum / n as f32;
            let row = weights.row_mut(strokes.first + (from + k) * strokes.stride);
            for (w, smoothed) in row.iter_mut().zip(&*smoothed) {
                *w = smoothed[k];
            }
        }
    }

    /// From predicted to measured power: the middle stroke's.
    fn cymbals_scale(&self, strokes: Strokes<'_>, rest: &mut [f32]) -> f32 {
        let points = strokes.length.div_ceil(strokes.coarse);
        let mut predicted = [0.0f32; MOST_FIT];
        for (stroke, predicted) in predicted.iter_mut().enumerate().take(rest.len()) {
            *predicted = strokes.cymbals(stroke).map_or(0.0, |power| {
                power[..points].iter().sum::<f32>() / points as f32
            });
        }
        middle_of(rest) / middle_of(&mut predicted[..rest.len()]).max(1e-30)
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

/// Noise that no stroke is below, power.
fn floor(strokes: Strokes<'_>) -> f32 {
    let mut level = [0.0f32; MOST_FIT];
    for (stroke, level) in level.iter_mut().enumerate().take(strokes.count) {
        let row = strokes.row(stroke);
        *level = shifted_dot(row, row, 0) / row.len() as f32;
    }
    let middle = middle_of(&mut level[..strokes.count]);
    ROUNDING * middle + 1e-20 + strokes.before / strokes.count as f32
}

/// The upper middle value.
pub(crate) fn middle_of(values: &mut [f32]) -> f32 {
    let half = values.len() / 2;
    *values.select_nth_unstable_by(half, f32::total_cmp).1
}
