//! The joint fit of one drum: its strokes aligned on each other, stacked, and the pair of fronts that explains the stacks best.

use super::attack_timing::{AttackTiming, Centres, Stage};
use super::body_timing::BodyTiming;
use super::centres::CentreFinder;
use super::colour::{Colour, WIDE_HZ};
use super::cut::cut;
use super::cymbals::{COARSE, Cymbals, Stretch};
use super::filters::Edges;
use super::onsets::{Heard, MOST_ONSETS, Onset, noise_around, onsets};
use super::pairs::{FrontWindow, PRECEDED, Pair, Scene, score};
use super::polish::{Places, place, polish};
use super::rows::Rows;
use super::sorting::shifted_dot;
use super::spread::{Errors, Resampler, Sample};
use super::stack::{Stacker, Strokes};
use super::stroke::{Stroke, power};
use super::stroke_lags::{Fronts, StrokeLags, stroke_lags};
use super::timing::{MOST_FIT, Timing};
use super::whitening::{ORDER, Whitener, add_autocorrelation};
use super::window::Window;
use crate::history::CHANNELS;

/// Cut before and after the strokes' time.
const BEFORE_S: f64 = 0.008;
const AFTER_S: f64 = 0.012;
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
/// Overheads stand no farther apart than this in their distance to a drum: 3 m of air.
const FARTHEST_S: f64 = 3.0 / 343.0;
/// Bands of the vote, Hz; the fourth is the whitened one.
const BANDS_HZ: [Edges; 3] = [
    edges(300.0, 12_000.0),
    edges(800.0, 9_000.0),
    edges(300.0, 4_000.0),
];
/// The three bands, and the whitened one.
const COLOURS: usize = BANDS_HZ.len() + 1;
/// Two alignments, plain and whitened, each in all colours.
const VARIANTS: usize = 2 * COLOURS;
/// Answers of each variant that are heard in the vote.
const HEARD: usize = 5;
/// Where the drum's first push is heard and cymbals are not: the body and its upper modes.
const PUSH_HZ: Edges = edges(150.0, 1_500.0);
/// Heard from this long before a front to this long after: before the room answers.
const PUSH_S: (f64, f64) = (0.0003, 0.002);
/// Worth of the pushes being alike in an answer's own polarity.
const PUSH: f32 = 2.0;
/// Of a normal distribution: its standard deviation over that of its middle half.
const MIDDLE_HALF: f64 = 2.65;
/// Answers within this of each other are one: a sample at 44.1 kHz.
const SAME_S: f64 = 1.0 / 44_100.0;
/// What another variant's agreement is worth, and the score at which it begins and is whole.
const AGREEMENT: f32 = 0.6;
const AGREES: (f32, f32) = (2.0, 6.0);

const fn edges(low_hz: f64, high_hz: f64) -> Edges {
    Edges { low_hz, high_hz }
}

fn stages(whitener: Option<Whitener>) -> [Stage; 2] {
    let stage = |colour, reach_ms, steps, expected_ms, rounds, gate_ms: (f64, f64)| Stage {
        colour,
        reach_s: 1e-3 * reach_ms,
        steps,
        expected_s: 1e-3 * expected_ms,
        rounds,
        gate_s: (1e-3 * gate_ms.0, 1e-3 * gate_ms.1),
    };
    match whitener {
        None => [
            stage(
                Colour::Band(edges(300.0, 4_000.0)),
                0.45,
                1,
                0.2,
                6,
                (1.0, 1.2),
            ),
            stage(
                Colour::Band(edges(300.0, 9_000.0)),
                0.136,
                2,
                0.057,
                4,
                (0.6, 1.0),
            ),
        ],
        Some(whitener) => [
            stage(Colour::White(whitener), 0.36, 1, 0.11, 5, (1.0, 1.6)),
            stage(Colour::White(whitener), 0.07, 4, 0.045, 3, (0.8, 1.4)),
        ],
    }
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

/// One answer of one variant.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Answer {
    pub pair: Pair,
    pub variant: usize,
    /// Samples, second minus first.
    pub gap: f64,
    /// How alike the drum's first pushes are there.
    pub push: f32,
    pub vote: f32,
}

/// One channel's first front.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Front {
    /// Samples after the strokes' common time.
    pub at: f64,
    /// Log of the power after over the largest before.
    pub height: f32,
}

/// How much of a fit is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Depth {
    /// Both alignments in all colours.
    Whole,
    /// The plain alignment alone: half the cost.
    Quick,
}

/// What a fit of two channels says.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Fitted {
    /// Samples.
    pub gap: f64,
    pub inverted: bool,
    pub best: Answer,
    /// Vote over the best other answer.
    pub lead: f32,
    /// Standard deviation of the variants that agree, samples.
    pub variants_sd: f64,
    pub errors: Errors,
    /// The strokes' own lags.
    pub strokes: StrokeLags,
    /// Half-way between both fronts, samples after the strokes' common time.
    pub middle: f64,
}

/// Everything a fit works in.
pub(crate) struct Fitter {
    window: Window,
    body: BodyTiming,
    attack: AttackTiming,
    centres: CentreFinder,
    cymbals: Cymbals,
    stacker: Stacker,
    front: FrontWindow,
    settle: usize,
    before: usize,
    /// Aligned as recorded, with room for the filters to settle; rows of stroke and channel of the two compared.
    raw: Rows<f32>,
    filtered: Rows<f32>,
    weights: Rows<f32>,
    predicted: Rows<f32>,
    /// Of each variant's two channels, and of the push.
    templates: Rows<f32>,
    variances: Rows<f32>,
    long: Box<[f32]>,
    sums: Box<[f64]>,
    heights: Box<[f32]>,
    answers: Vec<Answer>,
    /// Of each alignment.
    whiteners: [Whitener; 2],
    resampler: Resampler,
}

impl Fitter {
    pub(crate) fn new(window: Window) -> Self {
        let before = window.samples(BEFORE_S);
        let length = before + window.samples(AFTER_S);
        let settle = window.samples(SETTLE_S);
        let rows = 2 * MOST_FIT;
        Self {
            body: BodyTiming::new(&window),
            attack: AttackTiming::new(&window),
            centres: CentreFinder::new(&window),
            cymbals: Cymbals::new(&window),
            stacker: Stacker::new(window.rate, length),
            front: FrontWindow::new(window.rate),
            settle,
            before,
            raw: Rows::new(rows, settle + length),
            filtered: Rows::new(rows, length),
            weights: Rows::new(rows, length),
            predicted: Rows::new(rows, length.div_ceil(COARSE)),
            templates: Rows::new(2 * VARIANTS + 2, length),
            variances: Rows::new(2 * VARIANTS + 2, length),
            long: vec![0.0; settle + length].into(),
            sums: vec![0.0; 2 * (length + 1)].into(),
            heights: vec![0.0; length].into(),
            answers: Vec::with_capacity(VARIANTS * HEARD),
            whiteners: [Whitener::default(); 2],
            resampler: Resampler::new(&window),
            window,
        }
    }

    /// Aligns a drum's strokes on each other.
    pub(crate) fn align(&mut self, strokes: &[&Stroke], depth: Depth) -> Aligned {
        let mut plain = self.body.align(strokes, &self.window);
        let centres = self.centres.find(strokes, &plain, &self.window);
        self.cymbals.read(strokes);
        for stage in stages(None) {
            self.attack
                .refine(strokes, &self.cymbals, &centres, stage, &mut plain);
        }
        let mut aligned = Aligned {
            timings: [plain; 2],
            centres,
        };
        if depth == Depth::Quick {
            return aligned;
        }
        let whitener = self.whitener(strokes, &aligned, 0, pair_of(strokes));
        for stage in stages(Some(whitener)) {
            let white = &mut aligned.timings[1];
            self.attack
                .refine(strokes, &self.cymbals, &centres, stage, white);
        }
        aligned
    }

    /// Finds the two channels' fronts. `None` when there are none.
    pub(crate) fn fit(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        between: Between,
        depth: Depth,
    ) -> Option<Fitted> {
        self.answers.clear();
        let alignments = match depth {
            Depth::Whole => 0..2,
            Depth::Quick => 0..1,
        };
        for alignment in alignments.clone() {
            self.whiteners[alignment] = self.whitener(strokes, aligned, alignment, between);
            for variant in alignment * COLOURS..(alignment + 1) * COLOURS {
                let timing = &aligned.timings[alignment];
                self.stack(
                    timing,
                    &aligned.centres,
                    between,
                    self.colour(variant),
                    variant,
                );
                self.pair_up(timing, &aligned.centres, between, variant);
            }
        }
        self.cut_pair(strokes, aligned, 0, between);
        let timing = &aligned.timings[0];
        self.stack(
            timing,
            &aligned.centres,
            between,
            Colour::Band(PUSH_HZ),
            VARIANTS,
        );
        let mut fitted = self.vote()?;
        let apart = aligned.centres[between.second] - aligned.centres[between.first];
        let places = self.polish_all(&mut fitted, apart, alignments.end * COLOURS);
        let centre = aligned.centres[between.first] + 0.5 * apart;
        fitted.middle = places.middle - self.before as f64 + centre;
        fitted.errors = self.errors(strokes, aligned, between, fitted.best, places);
        let lags = self.stroke_lags(aligned, fitted.best, places);
        fitted.gap += lags.part * (lags.lag + apart - fitted.gap);
        fitted.strokes = lags;
        Some(fitted)
    }

    fn colour(&self, variant: usize) -> Colour {
        let band = variant % COLOURS;
        BANDS_HZ
            .get(band)
            .map_or(Colour::White(self.whiteners[variant / COLOURS]), |edges| {
                Colour::Lifted(*edges)
            })
    }

    /// The fine lag in every variant, the middle half of them averaged; where it is in the best one.
    fn polish_all(&self, fitted: &mut Fitted, apart: f64, variants: usize) -> Places {
        let same = SAME_S * self.window.rate;
        let best = fitted.best;
        let sign = if best.pair.inverted { -1.0 } else { 1.0 };
        let mut lags = [0.0; VARIANTS];
        let lags = &mut lags[..variants];
        let mut places = Places::default();
        for (variant, lag) in lags.iter_mut().enumerate() {
            let supports = |answer: &&Answer| {
                answer.variant == variant && (answer.gap - best.gap).abs() < same
            };
            let support = self.answers.iter().find(supports);
            let pair = support.map_or(best.pair, |answer| answer.pair);
            let guess = Places {
                middle: 0.5 * (pair.at[0] as f64 + pair.at[1] as f64),
                lag: pair.lag,
            };
            let stacks = [0, 1].map(|k| self.templates.row(2 * variant + k));
            let found = polish(stacks, &self.front, self.window.rate, sign, guess);
            *lag = found.lag + apart;
            if variant == best.variant {
                places = found;
            }
        }
        lags.sort_unstable_by(f64::total_cmp);
        let half = &lags[variants / 4..variants - variants / 4];
        let count = half.len() as f64;
        fitted.gap = half.iter().sum::<f64>() / count;
        let scatter: f64 = half.iter().map(|lag| (lag - fitted.gap).powi(2)).sum();
        fitted.variants_sd = MIDDLE_HALF * (scatter / count).sqrt();
        places
    }

    /// The strokes' own lags in the widest band, in the alignment that was cut last.
    fn stroke_lags(&mut self, aligned: &Aligned, best: Answer, places: Places) -> StrokeLags {
        let count = aligned.timings[best.variant / COLOURS].count;
        self.filter(count, Colour::Lifted(BANDS_HZ[0]));
        let fronts = Fronts {
            strokes: &self.filtered,
            count,
            before: [0, 1].map(|k| heard_before(&self.filtered, k, count, self.before / 2)),
            at: places,
            sign: if best.pair.inverted { -1.0 } else { 1.0 },
        };
        stroke_lags(fronts, &self.front, self.window.rate)
    }

    fn errors(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        between: Between,
        best: Answer,
        places: Places,
    ) -> Errors {
        let alignment = best.variant / COLOURS;
        let timing = &aligned.timings[alignment];
        self.cut_pair(strokes, aligned, alignment, between);
        self.stack(
            timing,
            &aligned.centres,
            between,
            self.colour(best.variant),
            best.variant,
        );
        let before = [0, 1].map(|k| heard_before(&self.filtered, k, timing.count, self.before / 2));
        let sample = Sample {
            strokes: &self.filtered,
            weights: &self.weights,
            cymbals: self.cymbals.heard().then_some(&self.predicted),
            gain: &timing.gain,
            count: timing.count,
            before,
            at: places,
            sign: if best.pair.inverted { -1.0 } else { 1.0 },
        };
        self.resampler.errors(sample, &self.front, self.window.rate)
    }

    /// Cuts the two channels of all strokes on the common time, with room for filters to settle.
    fn cut_pair(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        alignment: usize,
        between: Between,
    ) {
        let timing = &aligned.timings[alignment];
        for (n, stroke) in strokes.iter().enumerate() {
            for (k, channel) in between.channels().into_iter().enumerate() {
                let start = timing.at[n] + aligned.centres[channel];
                let start = start - (self.before + self.settle) as f64;
                cut(&stroke.audio[channel], start, self.raw.row_mut(2 * n + k));
            }
        }
    }

    fn filter(&mut self, count: usize, colour: Colour) {
        for row in 0..2 * count {
            self.long.copy_from_slice(self.raw.row(row));
            colour.apply(self.window.rate, &mut self.long);
            self.filtered
                .row_mut(row)
                .copy_from_slice(&self.long[self.settle..]);
        }
    }

    /// Filters what was cut and stacks both channels as one variant.
    fn stack(
        &mut self,
        timing: &Timing,
        centres: &Centres,
        between: Between,
        colour: Colour,
        variant: usize,
    ) {
        self.filter(timing.count, colour);
        for (k, channel) in between.channels().into_iter().enumerate() {
            self.stack_channel(timing, centres, channel, k, 2 * variant + k);
        }
    }

    /// Stacks one channel: the filtered rows from `k` on, every second, into a template's row.
    fn stack_channel(
        &mut self,
        timing: &Timing,
        centres: &Centres,
        channel: usize,
        k: usize,
        row: usize,
    ) {
        let length = self.filtered.length();
        let stretch = Stretch {
            channel,
            from: centres[channel] - self.before as f64,
            length,
        };
        if self.cymbals.heard() {
            self.cymbals
                .predict(timing, stretch, &mut self.predicted, (k, 2));
        }
        let strokes = Strokes {
            rows: &self.filtered,
            first: k,
            stride: 2,
            count: timing.count,
            length,
            gain: &timing.gain,
            cymbals: self.cymbals.heard().then_some(&self.predicted),
            coarse: COARSE,
            before: heard_before(&self.filtered, k, timing.count, self.before / 2),
        };
        let template = self.templates.row_mut(row);
        let variance = self.variances.row_mut(row);
        self.stacker
            .stack(strokes, &mut self.weights, template, variance);
    }

    /// The causal whitener of what the strokes' template does not explain.
    fn whitener(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        alignment: usize,
        between: Between,
    ) -> Whitener {
        self.cut_pair(strokes, aligned, alignment, between);
        let timing = &aligned.timings[alignment];
        self.stack(timing, &aligned.centres, between, Colour::Band(WIDE_HZ), 0);
        let from = self.before - self.window.samples(WHITE_S.0);
        let to = self.before + self.window.samples(WHITE_S.1);
        let mut sum = [0.0; ORDER + 1];
        let alone = timing.count < 3;
        for n in 0..timing.count {
            for k in 0..2 {
                let gain = if alone { 0.0 } else { timing.gain[n] };
                let row = self.filtered.row(2 * n + k);
                let template = self.templates.row(k);
                for ((out, y), h) in self.long.iter_mut().zip(row).zip(template) {
                    *out = y - gain * h;
                }
                let rest = &self.long[from..to];
                add_autocorrelation(rest, self.heights.as_mut(), &mut sum);
            }
        }
        Whitener::from_autocorrelation(sum)
    }

    /// Candidates for the front in one stack.
    fn onsets(&mut self, row: usize) -> ([Onset; MOST_ONSETS], usize) {
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

    /// Where one channel's own first front is against the strokes' common time, samples, and how high it stands out.
    pub(crate) fn front(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        channel: usize,
    ) -> Option<Front> {
        let timing = &aligned.timings[0];
        for (n, stroke) in strokes.iter().enumerate() {
            let start = timing.at[n] + aligned.centres[channel];
            let start = start - (self.before + self.settle) as f64;
            for k in 0..2 {
                cut(&stroke.audio[channel], start, self.raw.row_mut(2 * n + k));
            }
        }
        self.filter(timing.count, Colour::Lifted(BANDS_HZ[0]));
        self.stack_channel(timing, &aligned.centres, channel, 0, 0);
        let (found, count) = self.onsets(0);
        let worth = |onset: &Onset| onset.height - PRECEDED * onset.preceded;
        let better = |a: &&Onset, b: &&Onset| worth(a).total_cmp(&worth(b));
        let onset = found[..count].iter().max_by(better)?;
        let at = place(
            self.templates.row(0),
            &self.front,
            self.window.rate,
            onset.at as f64,
        );
        Some(Front {
            at: at - self.before as f64 + aligned.centres[channel],
            height: onset.height,
        })
    }

    fn pair_up(&mut self, timing: &Timing, centres: &Centres, between: Between, variant: usize) {
        let found = [0, 1].map(|k| self.onsets(2 * variant + k));
        let scene = Scene {
            rate: self.window.rate,
            templates: [0, 1].map(|k| self.templates.row(2 * variant + k)),
            strokes: &self.filtered,
            weights: &self.weights,
            count: timing.count,
            apart: centres[between.second] - centres[between.first],
            farthest: between.overheads().then_some(FARTHEST_S * self.window.rate),
        };
        let [(first, firsts), (second, seconds)] = found;
        let start = self.answers.len();
        for a in &first[..firsts] {
            for b in &second[..seconds] {
                let Some(pair) = score(scene, &self.front, *a, *b) else {
                    continue;
                };
                let gap = pair.lag + scene.apart;
                let answer = Answer {
                    pair,
                    variant,
                    gap,
                    ..Answer::default()
                };
                keep_best(&mut self.answers, start, answer);
            }
        }
    }

    /// How alike the drum's first pushes are at an answer's two fronts, in its polarity.
    fn push(&self, answer: &Answer) -> f32 {
        let before = self.window.samples(PUSH_S.0);
        let length = before + self.window.samples(PUSH_S.1);
        let cut = |k: usize| {
            let row = self.templates.row(2 * VARIANTS + k);
            let from = (answer.pair.at[k] - before).min(row.len() - length);
            &row[from..from + length]
        };
        let (first, second) = (cut(0), cut(1));
        let norm = (power(first) * power(second)).sqrt() as f32 * length as f32;
        let alike = shifted_dot(first, second, 0) / norm.max(f32::MIN_POSITIVE);
        if answer.pair.inverted { -alike } else { alike }
    }

    fn vote(&mut self) -> Option<Fitted> {
        let same = SAME_S * self.window.rate;
        for n in 0..self.answers.len() {
            let mut support = [0.0f32; VARIANTS];
            for other in &self.answers {
                let agrees = (other.pair.score - AGREES.0) / (AGREES.1 - AGREES.0);
                if other.variant != self.answers[n].variant
                    && (other.gap - self.answers[n].gap).abs() < same
                {
                    let support = &mut support[other.variant];
                    *support = support.max(agrees.clamp(0.0, 1.0));
                }
            }
            let push = self.push(&self.answers[n]);
            let answer = &mut self.answers[n];
            answer.push = push;
            answer.vote = answer.pair.score + AGREEMENT * support.iter().sum::<f32>() + PUSH * push;
        }
        let better = |a: Answer, b: &Answer| if b.vote > a.vote { *b } else { a };
        let first = *self.answers.first()?;
        let best = self.answers.iter().fold(first, better);
        let other = self
            .answers
            .iter()
            .filter(|answer| (answer.gap - best.gap).abs() >= 2.0 * same)
            .map(|answer| answer.vote)
            .fold(0.0, f32::max);
        Some(Fitted {
            gap: best.gap,
            inverted: best.pair.inverted,
            best,
            lead: best.vote - other,
            ..Fitted::default()
        })
    }
}

impl Between {
    pub(crate) fn channels(self) -> [usize; 2] {
        [self.first, self.second]
    }

    fn overheads(self) -> bool {
        self.first < 2 && self.second < 2
    }
}

/// The overheads, or for one channel that and the spot.
fn pair_of(strokes: &[&Stroke]) -> Between {
    let second = strokes
        .iter()
        .any(|stroke| stroke.audio[1].iter().any(|x| *x != 0.0));
    Between {
        first: 0,
        second: if second { 1 } else { CHANNELS - 1 },
    }
}

/// Middle power of the strokes' first `length` samples.
fn heard_before(rows: &Rows<f32>, first: usize, count: usize, length: usize) -> f32 {
    let mut powers = [0.0f32; MOST_FIT];
    for (n, out) in powers.iter_mut().enumerate().take(count) {
        *out = power(&rows.row(first + 2 * n)[..length]) as f32;
    }
    super::stack::middle_of(&mut powers[..count])
}

/// Keeps the [`HEARD`] best of the answers from `start` on.
fn keep_best(answers: &mut Vec<Answer>, start: usize, answer: Answer) {
    if answers.len() - start < HEARD {
        answers.push(answer);
        return;
    }
    let worse = |a: &&mut Answer, b: &&mut Answer| a.pair.score.total_cmp(&b.pair.score);
    if let Some(worst) = answers[start..].iter_mut().min_by(worse)
        && worst.pair.score < answer.pair.score
    {
        *worst = answer;
    }
}
