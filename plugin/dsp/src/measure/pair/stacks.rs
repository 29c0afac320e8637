//! A drum's strokes in two channels on their common time: cut, filtered in many ways, and stacked.

use crate::channels::CHANNELS;
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::pair::attack_timing::Centres;
use crate::measure::pair::colour::{Colour, WIDE_HZ};
use crate::measure::pair::cut::cut;
use crate::measure::pair::cymbals::{COARSE, Cymbals, Stretch};
use crate::measure::pair::filtering::Filtering;
use crate::measure::pair::onsets::{Heard, MOST_ONSETS, Onset, noise_around, onsets};
use crate::measure::pair::rows::Rows;
use crate::measure::pair::stack::{Stacker, Strokes, middle_of};
use crate::measure::pair::timing::{MOST_FIT, Timing};
use crate::measure::pair::whitening::{ORDER, Whitener, add_autocorrelation};

/// Cut before and after the strokes' common time, where fronts are still to be found ...
pub(crate) const WIDE: Span = Span {
    before_s: 0.008,
    after_s: 0.012,
};
/// ... and where they have been: the fine lag's window, the noise before it, and the first swing.
pub(crate) const CLOSE: Span = Span {
    before_s: 0.006,
    after_s: 0.005,
};
/// Filters settle in this time before that.
const SETTLE_S: f64 = 0.006;
/// Fronts are looked for from this long before the strokes' time ...
const EARLIEST_S: f64 = 0.004;
/// ... to this long after.
const LATEST_S: f64 = 0.008;
/// The stack's noise is taken this far around the strokes' time.
const AROUND_S: f64 = 0.003;
/// What the template does not explain is whitened from this long before to this long after.
const WHITE_S: (f64, f64) = (0.006, 0.004);

/// What is cut of each stroke, seconds around the strokes' common time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Span {
    before_s: f64,
    after_s: f64,
}

/// Which two channels are compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Between {
    pub first: usize,
    pub second: usize,
}

/// The strokes of one drum on a common time, in the two alignments.
#[derive(Clone, Copy)]
pub(crate) struct Aligned {
    pub timings: [Timing; 2],
    pub centres: Centres,
}

impl Between {
    pub(crate) fn channels(self) -> [usize; 2] {
        [self.first, self.second]
    }

    /// The overheads, or for one channel that and the spot.
    pub(crate) fn heard(strokes: &[&Stroke]) -> Self {
        let silent = |stroke: &&Stroke| stroke.audio[1].iter().all(|x| *x == 0.0);
        let second = if strokes.iter().all(silent) {
            CHANNELS - 1
        } else {
            1
        };
        Self { first: 0, second }
    }

    pub(crate) fn overheads(self) -> bool {
        self.first < 2 && self.second < 2
    }
}

impl Aligned {
    /// Second's centre minus first's: what is added to a lag of two stacks to make a gap. Samples.
    pub(crate) fn apart(&self, between: Between) -> f64 {
        self.centres[between.second] - self.centres[between.first]
    }
}

/// One drum's strokes, where they lie, and what of them is cymbals.
#[derive(Clone, Copy)]
pub(crate) struct Laid<'a> {
    pub strokes: &'a [&'a Stroke],
    /// What is cut of them.
    pub span: Span,
    pub aligned: &'a Aligned,
    pub between: Between,
    pub cymbals: &'a Cymbals,
}

impl<'a> Laid<'a> {
    pub(crate) fn timing(&self, alignment: usize) -> &'a Timing {
        &self.aligned.timings[alignment]
    }

    /// See [`Aligned::apart`].
    pub(crate) fn apart(&self) -> f64 {
        self.aligned.apart(self.between)
    }
}

/// Tables for [`MOST_FIT`] strokes and a number of stacks, of the span that was cut last.
pub(crate) struct Stacks {
    window: Window,
    stacker: Stacker,
    settle: usize,
    /// Samples of a stack before the strokes' common time.
    pub before: usize,
    /// Aligned as recorded, with room for the filters to settle; rows of stroke and channel of the two compared.
    raw: Rows<f32>,
    pub filtered: Rows<f32>,
    pub weights: Rows<f32>,
    predicted: Rows<f32>,
    /// Two rows a stack.
    templates: Rows<f32>,
    variances: Rows<f32>,
    filtering: Filtering,
    rest: Box<[f32]>,
    sums: Box<[f64]>,
    heights: Box<[f32]>,
}

impl Stacks {
    /// For spans up to [`WIDE`].
    pub(crate) fn new(window: Window, stacks: usize) -> Self {
        let before = window.samples(WIDE.before_s);
        let length = before + window.samples(WIDE.after_s);
        let settle = window.samples(SETTLE_S);
        let rows = 2 * MOST_FIT;
        Self {
            stacker: Stacker::new(window.rate, length),
            settle,
            before,
            raw: Rows::new(rows, settle + length),
            filtered: Rows::new(rows, length),
            weights: Rows::new(rows, length),
            predicted: Rows::new(rows, length.div_ceil(COARSE)),
            templates: Rows::new(2 * stacks, length),
            variances: Rows::new(2 * stacks, length),
            filtering: Filtering::new(window.rate, settle + length),
            rest: vec![0.0; length].into(),
            sums: vec![0.0; 2 * (length + 1)].into(),
            heights: vec![0.0; length].into(),
            window,
        }
    }

    /// The two channels of a stack.
    pub(crate) fn templates(&self, stack: usize) -> [&[f32]; 2] {
        [0, 1].map(|k| self.templates.row(2 * stack + k))
    }

    /// Predicted noise of the strokes stacked last.
    pub(crate) fn predicted(&self) -> &Rows<f32> {
        &self.predicted
    }

    /// Middle power of the filtered strokes well before their common time, of both channels.
    pub(crate) fn heard_before(&self, count: usize) -> [f32; 2] {
        [0, 1].map(|k| heard_before(&self.filtered, k, count, self.before / 2))
    }

    /// Cuts the two channels of all strokes on the common time, with room for filters to settle.
    pub(crate) fn cut_pair(&mut self, laid: Laid<'_>, alignment: usize) {
        self.cut_to(laid.span);
        let timing = laid.timing(alignment);
        for (n, stroke) in laid.strokes.iter().enumerate() {
            for (k, channel) in laid.between.channels().into_iter().enumerate() {
                let start = timing.at[n] + laid.aligned.centres[channel];
                let start = start - (self.before + self.settle) as f64;
                cut(&stroke.audio[channel], start, self.raw.row_mut(2 * n + k));
            }
        }
    }

    fn cut_to(&mut self, span: Span) {
        self.before = self.window.samples(span.before_s);
        let length = self.before + self.window.samples(span.after_s);
        self.raw.cut_to(self.settle + length);
        for rows in [
            &mut self.filtered,
            &mut self.weights,
            &mut self.templates,
            &mut self.variances,
        ] {
            rows.cut_to(length);
        }
    }

    pub(crate) fn filter(&mut self, count: usize, colour: Colour) {
        let (raw, filtered, settle) = (&self.raw, &mut self.filtered, self.settle);
        self.filtering.run(
            colour,
            2 * count,
            raw.length(),
            |n, row| row.copy_from_slice(raw.row(n)),
            |n, row| filtered.row_mut(n).copy_from_slice(&row[settle..]),
        );
    }

    /// Filters what was cut and stacks both channels.
    pub(crate) fn stack(&mut self, laid: Laid<'_>, alignment: usize, colour: Colour, stack: usize) {
        self.filter(laid.strokes.len(), colour);
        for k in 0..2 {
            self.stack_channel(laid, alignment, k, 2 * stack + k);
        }
    }

    /// Stacks one of the two channels: the filtered rows from `k` on, every second, into a template's row.
    fn stack_channel(&mut self, laid: Laid<'_>, alignment: usize, k: usize, row: usize) {
        let timing = laid.timing(alignment);
        let channel = laid.between.channels()[k];
        let length = self.filtered.length();
        let stretch = Stretch {
            channel,
            from: laid.aligned.centres[channel] - self.before as f64,
            length,
        };
        let cymbals = laid.cymbals;
        if cymbals.heard() {
            cymbals.predict(timing, stretch, &mut self.predicted, (k, 2));
        }
        let strokes = Strokes {
            rows: &self.filtered,
            first: k,
            stride: 2,
            count: timing.count,
            length,
            gain: &timing.gain,
            cymbals: cymbals.heard().then_some(&self.predicted),
            coarse: COARSE,
            before: heard_before(&self.filtered, k, timing.count, self.before / 2),
        };
        let template = self.templates.row_mut(row);
        let variance = self.variances.row_mut(row);
        self.stacker
            .stack(strokes, &mut self.weights, template, variance);
    }

    /// The causal whitener of what the strokes' template does not explain, from what was cut last; the template is the last
    /// stack then.
    pub(crate) fn whitener(&mut self, laid: Laid<'_>, alignment: usize) -> Whitener {
        let timing = laid.timing(alignment);
        let last = self.templates.count() / 2 - 1;
        self.stack(laid, alignment, Colour::Band(WIDE_HZ), last);
        let from = self.before - self.window.samples(WHITE_S.0);
        let to = self.before + self.window.samples(WHITE_S.1);
        let mut sum = [0.0; ORDER + 1];
        let alone = timing.count < 3;
        for n in 0..timing.count {
            for k in 0..2 {
                let gain = if alone { 0.0 } else { timing.gain[n] };
                let row = self.filtered.row(2 * n + k);
                let template = self.templates.row(2 * last + k);
                for ((out, y), h) in self.rest.iter_mut().zip(row).zip(template) {
                    *out = y - gain * h;
                }
                let rest = &self.rest[from..to];
                add_autocorrelation(rest, self.heights.as_mut(), &mut sum);
            }
        }
        Whitener::from_autocorrelation(sum)
    }

    /// Candidates for the front in one stack.
    pub(crate) fn onsets(&mut self, row: usize) -> ([Onset; MOST_ONSETS], usize) {
        let variance = self.variances.row(row);
        let heard = Heard {
            rate: self.window.rate,
            template: self.templates.row(row),
            variance,
            from: self.before - self.window.samples(EARLIEST_S),
            to: self.before + self.window.samples(LATEST_S),
            noise: noise_around(variance, self.before, self.window.samples(AROUND_S)),
        };
        onsets(heard, &mut self.sums, &mut self.heights)
    }
}

/// Middle power of the strokes' first `length` samples.
fn heard_before(rows: &Rows<f32>, first: usize, count: usize, length: usize) -> f32 {
    let mut powers = [0.0f32; MOST_FIT];
    for (n, out) in powers.iter_mut().enumerate().take(count) {
        *out = power(&rows.row(first + 2 * n)[..length]) as f32;
    }
    middle_of(&mut powers[..count])
}
