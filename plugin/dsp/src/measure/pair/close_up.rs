//! A second look around the two fronts that were found: the fine lag, its errors, each stroke's own lag, and the first swing.
//!
//! The strokes are cut anew on each channel's own front, so that what lies elsewhere does not count and a shift of either
//! channel shifts everything with it.

use crate::measure::hit::filters::Edges;
use crate::measure::hit::window::Window;
use crate::measure::pair::pairs::FrontWindow;
use crate::measure::pair::polish::{Places, SAME_S, polish, search};
use crate::measure::pair::spread::{Errors, Resampler, Sample};
use crate::measure::pair::stacks::Laid;
use crate::measure::pair::stroke_lags::{Fronts, StrokeLags, stroke_lags};
use crate::measure::pair::variants::{self, VARIANTS, Variants, widest};
use crate::measure::pair::vote::Answer;

/// A drum's first swing in and out, whose waves are so long that a gap some samples off does not turn them over: half a wave
/// of 600 Hz lasts 0.8 ms.
const SWING_HZ: Edges = Edges {
    low_hz: 100.0,
    high_hz: 600.0,
};
/// Heard from this long before a front to this long after: half a wave of 100 Hz.
const SWING_S: (f64, f64) = (0.0005, 0.0045);
/// Of a normal distribution: its standard deviation over that of its middle half.
const MIDDLE_HALF: f64 = 2.65;

/// What a close look says; lags and places in samples against where the strokes were cut.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Close {
    pub lag: f64,
    /// Standard deviation of the variants.
    pub variants_sd: f64,
    /// Half-way between both fronts.
    pub middle: f64,
    pub errors: Errors,
    pub strokes: StrokeLags,
    /// How alike the drum's first swings are in the answer's polarity, -1 to 1.
    pub swing: f32,
}

/// Stacks and scratch.
pub(crate) struct CloseUp {
    rate: f64,
    resampler: Resampler,
}

impl CloseUp {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            rate: window.rate,
            resampler: Resampler::new(&window),
        }
    }

    /// Looks at strokes that are laid on their fronts, in so many alignments; `best` is the answer that said where.
    pub(crate) fn look(
        &mut self,
        variants: &mut Variants,
        laid: Laid<'_>,
        alignments: usize,
        best: Answer,
        front: &FrontWindow,
    ) -> Close {
        for alignment in 0..alignments {
            variants.begin(laid, alignment);
            for variant in variants::of(alignment) {
                variants.stack(laid, variant);
            }
        }
        let before = variants.stacks.before;
        let mut places = Places {
            middle: before as f64,
            lag: 0.0,
        };
        let (lag, variants_sd) = self.polish_all(variants, best, alignments, front, &mut places);
        let errors = self.errors(variants, laid, best, places, front);
        let strokes = self.stroke_lags(variants, laid, best, places, front);
        let apart = variants.stack_apart(laid, SWING_HZ);
        Close {
            lag,
            variants_sd,
            middle: places.middle - before as f64,
            errors,
            strokes,
            swing: best.sign() * apart.alike([before; 2], SWING_S),
        }
    }

    /// The fine lag in every variant, from where its alignment's whitened stacks are most alike and held within a sample of that: the
    /// mean of the middle half. With it the standard deviation of what the variants say by themselves. `places` becomes the best
    /// variant's own.
    fn polish_all(
        &self,
        variants: &Variants,
        best: Answer,
        alignments: usize,
        front: &FrontWindow,
        places: &mut Places,
    ) -> (f64, f64) {
        let polished = |variant: usize, guess: Places| {
            let stacks = variants.stacks.templates(variant);
            polish(stacks, front, self.rate, best.sign(), guess)
        };
        *places = polished(best.variant, *places);
        let (mut own, mut held) = ([0.0; VARIANTS], [0.0; VARIANTS]);
        let count = variants::of(alignments).start;
        let same = SAME_S * self.rate;
        for alignment in 0..alignments {
            let whitened = variants::whitened(alignment);
            let stacks = variants.stacks.templates(whitened);
            let (lag, _) = search(stacks, front, best.sign(), *places, front.reach());
            let lag = polished(whitened, Places { lag, ..*places }).lag;
            for variant in variants::of(alignment) {
                own[variant] = polished(variant, Places { lag, ..*places }).lag;
                held[variant] = own[variant].clamp(lag - same, lag + same);
            }
        }
        let (lag, _) = middle_half(&mut held[..count]);
        let (_, scatter) = middle_half(&mut own[..count]);
        (lag, MIDDLE_HALF * scatter)
    }

    /// Errors of the fine lag, the strokes resampled in the best variant.
    fn errors(
        &mut self,
        variants: &mut Variants,
        laid: Laid<'_>,
        best: Answer,
        at: Places,
        front: &FrontWindow,
    ) -> Errors {
        let alignment = variants::alignment(best.variant);
        let timing = laid.timing(alignment);
        variants.stacks.cut_pair(laid, alignment);
        variants.stack(laid, best.variant);
        let stacks = &variants.stacks;
        let sample = Sample {
            strokes: &stacks.filtered,
            weights: &stacks.weights,
            cymbals: laid.cymbals.heard().then_some(stacks.predicted()),
            gain: &timing.gain,
            count: timing.count,
            before: stacks.heard_before(timing.count),
            at,
            sign: best.sign(),
        };
        self.resampler.errors(sample, front, self.rate)
    }

    /// The strokes' own lags in the widest band, in the alignment that was cut last.
    fn stroke_lags(
        &mut self,
        variants: &mut Variants,
        laid: Laid<'_>,
        best: Answer,
        at: Places,
        front: &FrontWindow,
    ) -> StrokeLags {
        let count = laid.strokes.len();
        let stacks = &mut variants.stacks;
        stacks.filter(count, widest());
        let fronts = Fronts {
            strokes: &stacks.filtered,
            count,
            before: stacks.heard_before(count),
            at,
            sign: best.sign(),
        };
        stroke_lags(fronts, front, self.rate)
    }
}

/// Mean and standard deviation of the middle half.
fn middle_half(lags: &mut [f64]) -> (f64, f64) {
    lags.sort_unstable_by(f64::total_cmp);
    let half = &lags[lags.len() / 4..lags.len() - lags.len() / 4];
    let count = half.len() as f64;
    let mean = half.iter().sum::<f64>() / count;
    let squares: f64 = half.iter().map(|x| (x - mean).powi(2)).sum();
    (mean, (squares / count).sqrt())
}
