//! The joint fit of one drum: its strokes aligned on each other, stacked, and the pair of fronts that explains the stacks best.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::filters::Edges;
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measure::pair::attack_timing::{AttackTiming, Stage};
use crate::measure::pair::body_timing::BodyTiming;
use crate::measure::pair::centres::CentreFinder;
use crate::measure::pair::colour::Colour;
use crate::measure::pair::onsets::Onset;
use crate::measure::pair::pairs::{FrontWindow, PRECEDED, Scene, score};
use crate::measure::pair::polish::{Places, place, polish};
use crate::measure::pair::spread::{Errors, Resampler, Sample};
use crate::measure::pair::stacks::{Aligned, Between, Stacks};
use crate::measure::pair::stroke_lags::{Fronts, StrokeLags, stroke_lags};
use crate::measure::pair::vote::{Answer, HEARD, keep_best, vote};
use crate::measure::pair::whitening::Whitener;

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
/// Where the drum's first push is heard and cymbals are not: the body and its upper modes.
const PUSH_HZ: Edges = edges(150.0, 1_500.0);
/// Heard from this long before a front to this long after: before the room answers.
const PUSH_S: (f64, f64) = (0.0003, 0.002);
/// Answers within this of each other are one: a sample at 44.1 kHz.
const SAME_S: f64 = 1.0 / 44_100.0;
/// Of a normal distribution: its standard deviation over that of its middle half.
const MIDDLE_HALF: f64 = 2.65;

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

/// The fine lag over all variants.
#[derive(Clone, Copy, Debug)]
struct Polished {
    /// Places in the best variant's stacks.
    best: Places,
    /// Samples of the stacks.
    lag: f64,
    /// Standard deviation of the variants, samples.
    deviation: f64,
}

/// Everything a fit works in.
pub(crate) struct Fitter {
    window: Window,
    body: BodyTiming,
    attack: AttackTiming,
    centres: CentreFinder,
    /// One of each variant, and of the push.
    stacks: Stacks,
    front: FrontWindow,
    answers: Vec<Answer>,
    /// Of each alignment.
    whiteners: [Whitener; 2],
    resampler: Resampler,
}

impl Fitter {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            body: BodyTiming::new(&window),
            attack: AttackTiming::new(&window),
            centres: CentreFinder::new(&window),
            stacks: Stacks::new(window, VARIANTS + 1),
            front: FrontWindow::new(window.rate),
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
        let Self { attack, stacks, .. } = self;
        stacks.cymbals.read(strokes);
        for stage in stages(None) {
            attack.refine(strokes, &stacks.cymbals, &centres, stage, &mut plain);
        }
        let mut aligned = Aligned {
            timings: [plain; 2],
            centres,
        };
        if depth == Depth::Whole {
            let whitener = stacks.whitener(strokes, &aligned, 0, Between::heard(strokes));
            for stage in stages(Some(whitener)) {
                let white = &mut aligned.timings[1];
                attack.refine(strokes, &stacks.cymbals, &centres, stage, white);
            }
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
        let alignments = match depth {
            Depth::Whole => 2,
            Depth::Quick => 1,
        };
        self.answer(strokes, aligned, between, alignments);
        self.hear_push(strokes, aligned, between);
        let (best, lead) = vote(&mut self.answers, SAME_S * self.window.rate)?;
        let apart = aligned.apart(between);
        let polished = self.polish_all(best, alignments * COLOURS);
        let places = polished.best;
        let errors = self.errors(strokes, aligned, between, best, places);
        let mut own = self.stroke_lags(aligned, best, places);
        own.each = own.each.map(|lag| lag.map(|lag| lag + apart));
        let centre = aligned.centres[between.first] + 0.5 * apart;
        Some(Fitted {
            gap: polished.lag + own.part * (own.lag - polished.lag) + apart,
            inverted: best.pair.inverted,
            best,
            lead,
            variants_sd: polished.deviation,
            errors,
            strokes: own,
            middle: places.middle - self.stacks.before as f64 + centre,
        })
    }

    /// Every variant's answers.
    fn answer(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        between: Between,
        alignments: usize,
    ) {
        self.answers.clear();
        for alignment in 0..alignments {
            let whitener = self.stacks.whitener(strokes, aligned, alignment, between);
            self.whiteners[alignment] = whitener;
            for variant in alignment * COLOURS..(alignment + 1) * COLOURS {
                let timing = &aligned.timings[alignment];
                let colour = self.colour(variant);
                self.stacks
                    .stack(timing, &aligned.centres, between, colour, variant);
                self.pair_up(timing.count, aligned.apart(between), between, variant);
            }
        }
    }

    fn colour(&self, variant: usize) -> Colour {
        let white = Colour::White(self.whiteners[variant / COLOURS]);
        let band = BANDS_HZ.get(variant % COLOURS);
        band.map_or(white, |edges| Colour::Lifted(*edges))
    }

    /// The best pairs of one variant's fronts.
    fn pair_up(&mut self, count: usize, apart: f64, between: Between, variant: usize) {
        let found = [0, 1].map(|k| self.stacks.onsets(2 * variant + k));
        let scene = Scene {
            rate: self.window.rate,
            templates: self.stacks.templates(variant),
            strokes: &self.stacks.filtered,
            weights: &self.stacks.weights,
            count,
            apart,
            farthest: between.overheads().then_some(FARTHEST_S * self.window.rate),
        };
        let [(first, firsts), (second, seconds)] = found;
        let start = self.answers.len();
        for a in &first[..firsts] {
            for b in &second[..seconds] {
                if let Some(pair) = score(scene, &self.front, *a, *b) {
                    let answer = Answer {
                        pair,
                        variant,
                        gap: pair.lag + apart,
                        ..Answer::default()
                    };
                    keep_best(&mut self.answers, start, answer);
                }
            }
        }
    }

    /// How alike the drum's first pushes are at each answer's two fronts, in its polarity.
    fn hear_push(&mut self, strokes: &[&Stroke], aligned: &Aligned, between: Between) {
        self.stacks.cut_pair(strokes, aligned, 0, between);
        let timing = &aligned.timings[0];
        let colour = Colour::Band(PUSH_HZ);
        self.stacks
            .stack(timing, &aligned.centres, between, colour, VARIANTS);
        let before = self.window.samples(PUSH_S.0);
        let length = before + self.window.samples(PUSH_S.1);
        let templates = self.stacks.templates(VARIANTS);
        for answer in &mut self.answers {
            let [first, second] = [0, 1].map(|k| {
                let last = templates[k].len() - length;
                let from = (answer.pair.at[k] - before).min(last);
                &templates[k][from..from + length]
            });
            let norm = (power(first) * power(second)).sqrt() as f32 * length as f32;
            let alike = shifted_dot(first, second, 0) / norm.max(f32::MIN_POSITIVE);
            answer.push = answer.sign() * alike;
        }
    }

    /// The fine lag in every variant; the middle half of them is averaged.
    fn polish_all(&self, best: Answer, variants: usize) -> Polished {
        let same = SAME_S * self.window.rate;
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
            let stacks = self.stacks.templates(variant);
            let found = polish(stacks, &self.front, self.window.rate, best.sign(), guess);
            *lag = found.lag;
            if variant == best.variant {
                places = found;
            }
        }
        lags.sort_unstable_by(f64::total_cmp);
        let half = &lags[variants / 4..variants - variants / 4];
        let count = half.len() as f64;
        let lag = half.iter().sum::<f64>() / count;
        let scatter: f64 = half.iter().map(|x| (x - lag).powi(2)).sum();
        Polished {
            best: places,
            lag,
            deviation: MIDDLE_HALF * (scatter / count).sqrt(),
        }
    }

    /// The strokes' own lags in the widest band, in the alignment that was cut last.
    fn stroke_lags(&mut self, aligned: &Aligned, best: Answer, places: Places) -> StrokeLags {
        let count = aligned.timings[best.variant / COLOURS].count;
        self.stacks.filter(count, Colour::Lifted(BANDS_HZ[0]));
        let fronts = Fronts {
            strokes: &self.stacks.filtered,
            count,
            before: self.stacks.heard_before(count),
            at: places,
            sign: best.sign(),
        };
        stroke_lags(fronts, &self.front, self.window.rate)
    }

    /// Errors of the fine lag, the strokes resampled in the best variant.
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
        self.stacks.cut_pair(strokes, aligned, alignment, between);
        let colour = self.colour(best.variant);
        self.stacks
            .stack(timing, &aligned.centres, between, colour, best.variant);
        let sample = Sample {
            strokes: &self.stacks.filtered,
            weights: &self.stacks.weights,
            cymbals: self.stacks.predicted(),
            gain: &timing.gain,
            count: timing.count,
            before: self.stacks.heard_before(timing.count),
            at: places,
            sign: best.sign(),
        };
        self.resampler.errors(sample, &self.front, self.window.rate)
    }

    /// Where one channel's own first front is against the strokes' common time, samples, and how high it stands out.
    pub(crate) fn front(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        channel: usize,
    ) -> Option<Front> {
        let colour = Colour::Lifted(BANDS_HZ[0]);
        let (found, count) = self.stacks.stack_alone(strokes, aligned, channel, colour);
        let worth = |onset: &Onset| onset.height - PRECEDED * onset.preceded;
        let better = |a: &&Onset, b: &&Onset| worth(a).total_cmp(&worth(b));
        let onset = found[..count].iter().max_by(better)?;
        let [stack, _] = self.stacks.templates(0);
        let at = place(stack, &self.front, self.window.rate, onset.at as f64);
        Some(Front {
            at: at - self.stacks.before as f64 + aligned.centres[channel],
            height: onset.height,
        })
    }
}
