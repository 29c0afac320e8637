//! The joint fit of one drum: its strokes aligned on each other, stacked, and the pair of fronts that explains the stacks best.

use crate::channels::SPOT;
use crate::measure::hit::filters::Edges;
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::Window;
use crate::measure::pair::attack_timing::{AttackTiming, Stage};
use crate::measure::pair::body_timing::BodyTiming;
use crate::measure::pair::centres::CentreFinder;
use crate::measure::pair::close_up::{Close, CloseUp};
use crate::measure::pair::colour::Colour;
use crate::measure::pair::cymbals::Cymbals;
use crate::measure::pair::onsets::{MOST_ONSETS, Onset};
use crate::measure::pair::pairs::{FrontWindow, PRECEDED, Scene, score};
use crate::measure::pair::polish::{Places, SAME_S, place, polish, search};
use crate::measure::pair::stacks::{Aligned, Between, CLOSE, Laid, WIDE};
use crate::measure::pair::variants::{self, VARIANTS, Variants, widest};
use crate::measure::pair::vote::{Answer, HEARD, keep_best, vote};
use crate::measure::pair::whitening::Whitener;

/// Overheads stand no farther apart than this in their distance to a drum: 3 m of air.
const FARTHEST_S: f64 = 3.0 / 343.0;
/// Where the drum's first push is heard and cymbals are not: the body and its upper modes.
const PUSH_HZ: Edges = Edges {
    low_hz: 150.0,
    high_hz: 1_500.0,
};
/// Heard from this long before a front to this long after: before the room answers.
const PUSH_S: (f64, f64) = (0.0003, 0.002);
/// The tail: what follows the fronts for this long, before the strokes' cut ends.
const TAIL_S: f64 = 0.0036;
/// Two fronts' places are known to this much: half a cycle of the attack's 10 kHz.
const FRONT_S: f64 = 0.000_05;

fn stages(whitener: Option<Whitener>) -> [Stage; 2] {
    let stage = |colour, reach_ms, steps, expected_ms, rounds, gate_ms: (f64, f64)| Stage {
        colour,
        reach_s: 1e-3 * reach_ms,
        steps,
        expected_s: 1e-3 * expected_ms,
        rounds,
        gate_s: (1e-3 * gate_ms.0, 1e-3 * gate_ms.1),
    };
    let band = |low_hz, high_hz| Colour::Band(Edges { low_hz, high_hz });
    match whitener {
        None => [
            stage(band(300.0, 4_000.0), 0.45, 1, 0.2, 6, (1.0, 1.2)),
            stage(band(300.0, 9_000.0), 0.136, 2, 0.057, 4, (0.6, 1.0)),
        ],
        Some(whitener) => [
            stage(Colour::White(whitener), 0.36, 1, 0.11, 5, (1.0, 1.6)),
            stage(Colour::White(whitener), 0.07, 4, 0.045, 3, (0.8, 1.4)),
        ],
    }
}

/// A channel against the spot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct AfterSpot {
    /// Samples.
    pub lag: f64,
    /// How high the spot's front stands out: log of the power after over the largest before.
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
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fitted {
    /// Samples.
    pub gap: f64,
    pub inverted: bool,
    pub best: Answer,
    /// Vote over the best other answer.
    pub lead: f32,
    pub close: Close,
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
    variants: Variants,
    close: CloseUp,
    front: FrontWindow,
    tail: FrontWindow,
    answers: Vec<Answer>,
}

impl Fitter {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            body: BodyTiming::new(&window),
            attack: AttackTiming::new(&window),
            centres: CentreFinder::new(&window),
            cymbals: Cymbals::new(&window),
            variants: Variants::new(window),
            close: CloseUp::new(window),
            front: FrontWindow::new(window.rate),
            tail: FrontWindow::lasting(window.rate, TAIL_S),
            answers: Vec::with_capacity(VARIANTS * HEARD),
            window,
        }
    }

    /// Aligns a drum's strokes on each other.
    pub(crate) fn align(&mut self, strokes: &[&Stroke], depth: Depth) -> Aligned {
        let plain = self.body.align(strokes, &self.window);
        let centres = self.centres.find(strokes, &plain, &self.window);
        self.cymbals.read(strokes);
        let mut aligned = Aligned {
            timings: [plain; 2],
            centres,
        };
        for stage in stages(None) {
            self.refine(strokes, &mut aligned, 0, stage);
        }
        aligned.timings[1] = aligned.timings[0];
        if depth == Depth::Whole {
            let laid = Laid {
                strokes,
                span: WIDE,
                aligned: &aligned,
                between: Between::heard(strokes),
                cymbals: &self.cymbals,
            };
            let whitener = self.variants.begin(laid, 0);
            for stage in stages(Some(whitener)) {
                self.refine(strokes, &mut aligned, 1, stage);
            }
        }
        aligned
    }

    fn refine(
        &mut self,
        strokes: &[&Stroke],
        aligned: &mut Aligned,
        alignment: usize,
        stage: Stage,
    ) {
        let Aligned { timings, centres } = aligned;
        let timing = &mut timings[alignment];
        self.attack
            .refine(strokes, &self.cymbals, centres, stage, timing);
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
        let whiteners = self.answer(strokes, aligned, between, alignments);
        let (best, lead) = vote(&mut self.answers, SAME_S * self.window.rate)?;
        let mut near = self.on_fronts(aligned, between, best);
        for (alignment, whitener) in whiteners.into_iter().enumerate().take(alignments) {
            let whitener = (alignment > 0).then_some(whitener);
            let [_, finest] = stages(whitener);
            self.refine(strokes, &mut near, alignment, finest);
        }
        let laid = Laid {
            strokes,
            span: CLOSE,
            aligned: &near,
            between,
            cymbals: &self.cymbals,
        };
        let apart = laid.apart();
        let (variants, front) = (&mut self.variants, &self.front);
        let mut close = self.close.look(variants, laid, alignments, best, front);
        let own = &mut close.strokes;
        own.each = own.each.map(|lag| lag.map(|lag| lag + apart));
        Some(Fitted {
            gap: close.lag + own.part * (own.lag - close.lag) + apart,
            inverted: best.pair.inverted,
            best,
            lead,
            close,
            middle: close.middle + near.centres[between.first] + 0.5 * apart,
        })
    }

    /// The alignment with its centres on the two fronts of an answer.
    fn on_fronts(&self, aligned: &Aligned, between: Between, best: Answer) -> Aligned {
        let guess = Places::between(best.pair.at, best.pair.lag);
        let stacks = self.variants.stacks.templates(best.variant);
        let found = polish(stacks, &self.front, self.window.rate, best.sign(), guess);
        let middle = found.middle - self.variants.stacks.before as f64;
        let mut near = *aligned;
        for (channel, half) in between.channels().into_iter().zip([-0.5, 0.5]) {
            near.centres[channel] += middle + half * found.lag;
        }
        near
    }

    /// Every variant's answers, each with how alike tail and first pushes are at its two fronts; the alignments' whiteners.
    fn answer(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        between: Between,
        alignments: usize,
    ) -> [Whitener; 2] {
        let laid = Laid {
            strokes,
            span: WIDE,
            aligned,
            between,
            cymbals: &self.cymbals,
        };
        self.answers.clear();
        let mut whiteners = [Whitener::default(); 2];
        for (alignment, whitener) in whiteners.iter_mut().enumerate().take(alignments) {
            *whitener = self.variants.begin(laid, alignment);
            for variant in variants::of(alignment) {
                self.variants.stack(laid, variant);
                let onsets = [0, 1].map(|k| self.variants.stacks.onsets(2 * variant + k));
                let farthest = FARTHEST_S * self.window.rate;
                let scene = Scene {
                    rate: self.window.rate,
                    templates: self.variants.stacks.templates(variant),
                    strokes: &self.variants.stacks.filtered,
                    weights: &self.variants.stacks.weights,
                    count: strokes.len(),
                    apart: laid.apart(),
                    farthest: between.overheads().then_some(farthest),
                };
                pair_up(scene, &onsets, &self.front, variant, &mut self.answers);
            }
        }
        for answer in &mut self.answers {
            let stacks = self.variants.white(answer.variant);
            let places = Places::between(answer.pair.at, answer.pair.lag);
            let reach = SAME_S * self.window.rate;
            let (_, alike) = search(stacks, &self.tail, answer.sign(), places, reach);
            answer.tail = alike as f32;
        }
        let push = self.variants.stack_apart(laid, PUSH_HZ);
        for answer in &mut self.answers {
            answer.push = answer.sign() * push.alike(answer.pair.at, PUSH_S);
        }
        whiteners
    }

    /// How much later a channel hears the strokes than the spot: from the first front of each, or that nearest to `near` samples
    /// after the common time, to where the two fronts lie on each other. `None` when one of them has none.
    pub(crate) fn after_spot(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        channel: usize,
        near: Option<f64>,
    ) -> Option<AfterSpot> {
        let laid = Laid {
            strokes,
            span: WIDE,
            aligned,
            between: Between {
                first: SPOT,
                second: channel,
            },
            cymbals: &self.cymbals,
        };
        let stacks = &mut self.variants.stacks;
        stacks.cut_pair(laid, 0);
        stacks.stack(laid, 0, widest(), 0);
        let zero = stacks.before as f64 - aligned.centres[channel];
        let spot = first_front(&stacks.onsets(0), |onset| {
            onset.height - PRECEDED * onset.preceded
        })?;
        let heard = first_front(&stacks.onsets(1), |onset| match near {
            Some(near) => -(onset.at as f64 - zero - near).abs() as f32,
            None => onset.height - PRECEDED * onset.preceded,
        })?;
        let rate = self.window.rate;
        let rows = stacks.templates(0);
        let [from, to] = [(0, spot), (1, heard)]
            .map(|(k, onset)| place(rows[k], &self.front, rate, onset.at as f64));
        let fronts = Places {
            middle: 0.5 * (from + to),
            lag: to - from,
        };
        let fitted = [1.0, -1.0].map(|sign| polish(rows, &self.front, rate, sign, fronts).lag);
        let off = |lag: &f64| (lag - fronts.lag).abs();
        let nearer = fitted.into_iter().min_by(|a, b| off(a).total_cmp(&off(b)));
        let lag = nearer.filter(|lag| off(lag) < FRONT_S * rate);
        Some(AfterSpot {
            lag: lag.unwrap_or(fronts.lag) + laid.apart(),
            height: spot.height,
        })
    }
}

fn first_front(
    onsets: &([Onset; MOST_ONSETS], usize),
    worth: impl Fn(&Onset) -> f32,
) -> Option<Onset> {
    let (found, count) = onsets;
    let better = |a: &&Onset, b: &&Onset| worth(a).total_cmp(&worth(b));
    found[..*count].iter().max_by(better).copied()
}

/// Adds the best pairs of one variant's fronts.
fn pair_up(
    scene: Scene<'_>,
    onsets: &[([Onset; MOST_ONSETS], usize); 2],
    front: &FrontWindow,
    variant: usize,
    answers: &mut Vec<Answer>,
) {
    let [(first, firsts), (second, seconds)] = onsets;
    let start = answers.len();
    for a in &first[..*firsts] {
        for b in &second[..*seconds] {
            if let Some(pair) = score(scene, front, *a, *b) {
                let answer = Answer {
                    pair,
                    variant,
                    gap: pair.lag + scene.apart,
                    ..Answer::default()
                };
                keep_best(answers, start, answer);
            }
        }
    }
}
