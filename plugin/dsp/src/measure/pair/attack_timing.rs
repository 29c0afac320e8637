//! Aligns a drum's strokes on each other by their attacks, each moment weighed by that stroke's own noise there.

use crate::channels::CHANNELS;
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::Window;
use crate::measure::pair::colour::Colour;
use crate::measure::pair::cut::cut;
use crate::measure::pair::cymbals::{COARSE, Cymbals, Stretch};
use crate::measure::pair::filtering::Filtering;
use crate::measure::pair::rows::Rows;
use crate::measure::pair::stack::{LOCAL_S, Stacker, Strokes};
use crate::measure::pair::timing::{MOST_FIT, Timing};

/// Filters settle in this time before what is looked at.
const SETTLE_S: f64 = 0.006;
/// Samples of one stretch that say as much as one independent one.
const DEPENDENT: f32 = 5.0;
/// Finest grid, steps a sample.
const FINEST: usize = 4;
/// Longest reach to either side and longest gate of all stages, seconds.
const LONGEST_S: f64 = 2.0 * 0.00046 + 0.0027;

/// One pass over the strokes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stage {
    pub colour: Colour,
    /// Farthest that a stroke is moved, seconds.
    pub reach_s: f64,
    /// Grid of the moves, steps a sample.
    pub steps: usize,
    /// Standard deviation expected of the moves, seconds.
    pub expected_s: f64,
    pub rounds: usize,
    /// Gate around the front, seconds before and after.
    pub gate_s: (f64, f64),
}

/// Where each channel's front is against the strokes' common time, working samples.
pub(crate) type Centres = [f64; CHANNELS];

/// Tables and scratch.
pub(crate) struct AttackTiming {
    rate: f64,
    local: usize,
    /// Filtered strokes, one row a stroke and channel: in it one stretch for each fraction of a sample of the fine grid.
    fine: Rows<f32>,
    chosen: Rows<f32>,
    weights: Rows<f32>,
    cymbals: Rows<f32>,
    filtering: Filtering,
    template: Rows<f32>,
    /// Sums of weighed strokes and of weights, by channel.
    sums: Rows<f32>,
    /// What the other strokes expect of one, and one over its noise, by channel.
    others: Rows<f32>,
    variance: Box<[f32]>,
    stacker: Stacker,
}

/// Lengths of one stage in samples.
#[derive(Clone, Copy)]
struct Lengths {
    margin: usize,
    reach: usize,
    gate: usize,
    /// From the front to the gate's start.
    before: f64,
    steps: usize,
}

impl Lengths {
    fn chosen(&self) -> usize {
        self.gate + 2 * self.margin
    }

    fn cut(&self) -> usize {
        self.chosen() + 2 * self.reach + 1
    }

    /// From a stroke's front to the first cut sample.
    fn start(&self) -> f64 {
        -self.before - (self.margin + self.reach) as f64
    }
}

impl AttackTiming {
    pub(crate) fn new(window: &Window) -> Self {
        let rate = window.rate;
        let local = window.samples(LOCAL_S);
        let longest = window.samples(LONGEST_S) + 2 * local + 8;
        let rows = MOST_FIT * CHANNELS;
        Self {
            rate,
            local,
            fine: Rows::new(rows, longest * FINEST),
            chosen: Rows::new(rows, longest),
            weights: Rows::new(rows, longest),
            cymbals: Rows::new(rows, longest / COARSE + 1),
            filtering: Filtering::new(rate, longest + window.samples(SETTLE_S)),
            template: Rows::new(CHANNELS, longest),
            sums: Rows::new(2 * CHANNELS, longest),
            others: Rows::new(2 * CHANNELS, longest),
            variance: vec![0.0; longest].into(),
            stacker: Stacker::new(rate, longest),
        }
    }

    /// Moves the strokes' times by what their attacks say.
    pub(crate) fn refine(
        &mut self,
        strokes: &[&Stroke],
        cymbals: &Cymbals,
        centres: &Centres,
        stage: Stage,
        timing: &mut Timing,
    ) {
        if timing.count < 2 {
            return;
        }
        let lengths = self.lengths(stage);
        let heard = self.cut_all(strokes, centres, stage, lengths, timing);
        let heard = &heard;
        for channel in (0..CHANNELS).filter(|channel| heard[*channel]) {
            let stretch = Stretch {
                channel,
                from: centres[channel] - lengths.before - lengths.margin as f64,
                length: lengths.chosen(),
            };
            if cymbals.heard() {
                cymbals.predict(timing, stretch, &mut self.cymbals, (channel, CHANNELS));
            }
        }
        let middle = lengths.reach * lengths.steps;
        let mut place = [middle; MOST_FIT];
        let mut part = [0.0; MOST_FIT];
        for _ in 0..stage.rounds {
            self.choose(timing.count, heard, lengths, &place);
            self.stack(timing, heard, lengths, cymbals.heard());
            for n in 0..timing.count {
                (place[n], part[n]) = self.best(n, timing.gain[n], heard, lengths, stage);
            }
            recentre(&mut place[..timing.count], &timing.gain, middle);
        }
        for (at, (place, part)) in timing.at.iter_mut().zip(place.into_iter().zip(part)) {
            *at += (place as f64 - middle as f64 + part) / lengths.steps as f64;
        }
    }

    fn lengths(&self, stage: Stage) -> Lengths {
        let (before, after) = stage.gate_s;
        Lengths {
            margin: self.local,
            reach: (stage.reach_s * self.rate).round() as usize,
            gate: ((before + after) * self.rate).round() as usize,
            before: (before * self.rate).round(),
            steps: stage.steps,
        }
    }

    /// Cuts and filters every stroke on the fine grid; which channels hold anything.
    fn cut_all(
        &mut self,
        strokes: &[&Stroke],
        centres: &Centres,
        stage: Stage,
        lengths: Lengths,
        timing: &Timing,
    ) -> [bool; CHANNELS] {
        let settle = (SETTLE_S * self.rate) as usize;
        let length = lengths.cut();
        let mut heard = [false; CHANNELS];
        let fine = &mut self.fine;
        self.filtering.run(
            stage.colour,
            strokes.len() * CHANNELS,
            settle + length,
            |row, raw| {
                let (n, channel) = (row / CHANNELS, row % CHANNELS);
                let start = timing.at[n] + centres[channel] + lengths.start() - settle as f64;
                cut(&strokes[n].audio[channel], start, raw);
                heard[channel] |= raw.iter().any(|x| x.abs() > 1e-7);
            },
            |row, filtered| {
                let stretches = fine.row_mut(row).chunks_exact_mut(length);
                for (step, stretch) in stretches.enumerate().take(lengths.steps) {
                    let part = step as f64 / lengths.steps as f64;
                    cut(filtered, settle as f64 + part, stretch);
                }
            },
        );
        heard
    }

    fn choose(
        &mut self,
        count: usize,
        heard: &[bool; CHANNELS],
        lengths: Lengths,
        place: &[usize; MOST_FIT],
    ) {
        for (n, place) in place.iter().enumerate().take(count) {
            for channel in (0..CHANNELS).filter(|channel| heard[*channel]) {
                let row = n * CHANNELS + channel;
                let (whole, part) = (place / lengths.steps, place % lengths.steps);
                let from = part * lengths.cut() + whole;
                let fine = &self.fine.row(row)[from..from + lengths.chosen()];
                self.chosen.row_mut(row)[..lengths.chosen()].copy_from_slice(fine);
            }
        }
    }

    fn stack(
        &mut self,
        timing: &Timing,
        heard: &[bool; CHANNELS],
        lengths: Lengths,
        predicted: bool,
    ) {
        for channel in (0..CHANNELS).filter(|channel| heard[*channel]) {
            let strokes = Strokes {
                rows: &self.chosen,
                first: channel,
                stride: CHANNELS,
                count: timing.count,
                length: lengths.chosen(),
                gain: &timing.gain,
                cymbals: predicted.then_some(&self.cymbals),
                coarse: COARSE,
                before: 0.0,
            };
            let template = self.template.row_mut(channel);
            self.stacker
                .stack(strokes, &mut self.weights, template, &mut self.variance);
            let (numerator, denominator) = self.stacker.sums();
            let length = lengths.chosen();
            self.sums.row_mut(2 * channel)[..length].copy_from_slice(&numerator[..length]);
            self.sums.row_mut(2 * channel + 1)[..length].copy_from_slice(&denominator[..length]);
        }
    }

    /// The place at which a stroke is likeliest, against the template of all others, and the part of a place beyond it.
    fn best(
        &mut self,
        n: usize,
        gain: f32,
        heard: &[bool; CHANNELS],
        lengths: Lengths,
        stage: Stage,
    ) -> (usize, f64) {
        for channel in (0..CHANNELS).filter(|channel| heard[*channel]) {
            self.leave_out(n, channel, gain, lengths);
        }
        let middle = (lengths.reach * lengths.steps) as f32;
        let expected = (stage.expected_s * self.rate) as f32 * lengths.steps as f32;
        let likely = |place: usize| {
            let off = (place as f32 - middle) / expected;
            let channels = (0..CHANNELS).filter(|channel| heard[*channel]);
            let misfit: f32 = channels.map(|c| self.misfit(n, c, place, lengths)).sum();
            -0.5 * off * off - 0.5 / DEPENDENT * misfit
        };
        let last = 2 * lengths.reach * lengths.steps;
        let mut best = (f32::NEG_INFINITY, 0);
        for place in 0..=last {
            let value = likely(place);
            if value > best.0 {
                best = (value, place);
            }
        }
        let (top, place) = best;
        if place == 0 || place == last {
            return (place, 0.0);
        }
        let (before, after) = (likely(place - 1), likely(place + 1));
        let bend = before - 2.0 * top + after;
        let part = if bend < 0.0 {
            0.5 * (before - after) / bend
        } else {
            0.0
        };
        (place, f64::from(part.clamp(-0.5, 0.5)))
    }

    /// What the other strokes expect of this one in a channel's gate, and one over its noise there.
    fn leave_out(&mut self, n: usize, channel: usize, gain: f32, lengths: Lengths) {
        let row = n * CHANNELS + channel;
        let gate = lengths.margin..lengths.margin + lengths.gate;
        let (y, w) = (self.chosen.row(row), self.weights.row(row));
        let (num, den) = (self.sums.row(2 * channel), self.sums.row(2 * channel + 1));
        for (k, at) in gate.enumerate() {
            let share = (gain * gain * w[at] / den[at]).min(0.999);
            let without = (num[at] - gain * w[at] * y[at]) / (den[at] * (1.0 - share));
            self.others.row_mut(2 * channel)[k] = gain * without;
            self.others.row_mut(2 * channel + 1)[k] = w[at] * (1.0 - share).powi(2);
        }
    }

    fn misfit(&self, n: usize, channel: usize, place: usize, lengths: Lengths) -> f32 {
        let (whole, part) = (place / lengths.steps, place % lengths.steps);
        let from = part * lengths.cut() + whole + lengths.margin;
        let heard = &self.fine.row(n * CHANNELS + channel)[from..from + lengths.gate];
        let expected = &self.others.row(2 * channel)[..lengths.gate];
        let weight = &self.others.row(2 * channel + 1)[..lengths.gate];
        weighed_distance(heard, expected, weight)
    }
}

/// Sum of the weighed squares of what differs.
fn weighed_distance(a: &[f32], b: &[f32], weight: &[f32]) -> f32 {
    let mut sums = [0.0f32; 8];
    let eights = a.chunks_exact(8).zip(b.chunks_exact(8));
    for ((a, b), w) in eights.zip(weight.chunks_exact(8)) {
        for k in 0..8 {
            sums[k] += (a[k] - b[k]) * (a[k] - b[k]) * w[k];
        }
    }
    let whole = a.len() - a.len() % 8;
    let rest = a[whole..].iter().zip(&b[whole..]).zip(&weight[whole..]);
    let tail: f32 = rest.map(|((a, b), w)| (a - b) * (a - b) * w).sum();
    sums.iter().sum::<f32>() + tail
}

/// Moves all places so that their weighed mean stays in the middle.
fn recentre(place: &mut [usize], gain: &[f32; MOST_FIT], middle: usize) {
    let weights: f64 = gain.iter().zip(&*place).map(|(g, _)| f64::from(*g)).sum();
    let sum: f64 = gain
        .iter()
        .zip(&*place)
        .map(|(g, place)| f64::from(*g) * (*place as f64 - middle as f64))
        .sum();
    let mean = (sum / weights).round() as isize;
    for place in place {
        *place = (*place as isize - mean).clamp(0, 2 * middle as isize) as usize;
    }
}
