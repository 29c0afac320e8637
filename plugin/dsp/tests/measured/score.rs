//! How often an estimator is right, how far off it is when it is not, and whether it knew.

use std::fmt;

use plumbline_dsp::measurement::Polarity;

use crate::measure::Answer;
use crate::take::Truth;

/// Errors above this (or above the truth's own tolerance, where that is wider) are another drum's or another wavefront's,
/// samples.
const GROSS: f64 = 3.0;
/// No two overheads of one kit stand farther apart than this, metres.
const WIDEST_M: f64 = 3.0;
/// `confidence` is the probability of an error below this, metres.
const KNOWN_WITHIN_M: f64 = 0.01;
/// Metres a second in dry air at 20 C.
const SPEED_OF_SOUND: f64 = 343.2;

/// One take, measured once.
#[derive(Clone, Debug)]
pub struct Trial {
    pub answer: Option<Answer>,
    pub truth: Truth,
    pub polarity: Polarity,
    /// Samples a second.
    pub rate: f64,
}

impl Trial {
    /// Answer minus truth, samples.
    pub fn error(&self) -> Option<f64> {
        Some(self.answer.as_ref()?.gap_samples - self.truth.gap)
    }

    /// There is an answer whose error is within so many samples.
    pub fn within(&self, samples: f64) -> bool {
        self.error().is_some_and(|error| error.abs() <= samples)
    }

    /// An answer, and a wrong one by more than [`GROSS`].
    pub fn gross(&self) -> bool {
        self.answer.is_some() && !self.within(self.truth.tolerance.max(GROSS))
    }

    /// The event whose probability `confidence` claims to be: an error under 1 cm of air.
    pub fn known(&self) -> bool {
        self.within(KNOWN_WITHIN_M / SPEED_OF_SOUND * self.rate)
    }

    /// The probability that is claimed; none without an answer.
    pub fn confidence(&self) -> f64 {
        self.answer.as_ref().map_or(0.0, |answer| answer.confidence)
    }

    /// The error is inside so many spreads.
    pub fn covered(&self, spreads: f64) -> bool {
        let spread = self.answer.as_ref().map(|answer| answer.spread_samples);
        spread.is_some_and(|spread| self.within(spreads * spread))
    }

    fn polarity_right(&self) -> bool {
        let found = self.answer.as_ref().map(|answer| answer.polarity);
        found == Some(self.polarity)
    }

    fn absurd(&self) -> bool {
        let widest = WIDEST_M / SPEED_OF_SOUND * self.rate;
        let gap = self.answer.as_ref().map(|answer| answer.gap_samples.abs());
        gap.is_some_and(|gap| gap > widest)
    }
}

/// The columns of every table.
#[derive(Clone, Copy, Debug, Default)]
pub struct Score {
    pub takes: usize,
    pub answers: usize,
    /// Within the truth's tolerance.
    pub right: usize,
    /// Within 1 cm of air.
    pub known: usize,
    /// Median of |error| over the answers, samples.
    pub median: f64,
    pub gross: usize,
    /// Of a gross error.
    pub highest_confidence: f64,
    /// Answers whose error is inside one and two spreads.
    pub covered: [usize; 2],
    /// Answers with the right polarity.
    pub polarity: usize,
    /// Gaps that would need overheads more than 3 m apart.
    pub absurd: usize,
}

impl Score {
    pub const HEADER: &str = "takes,answers,right,within_1cm,median,gross,highest_confidence,covered,covered_twice,polarity,absurd";

    pub fn of<'a>(trials: impl Iterator<Item = &'a Trial> + Clone) -> Self {
        let count =
            |pick: &dyn Fn(&Trial) -> bool| trials.clone().filter(|trial| pick(trial)).count();
        let gross = trials.clone().filter(|trial| trial.gross());
        Self {
            takes: trials.clone().count(),
            answers: count(&|trial| trial.answer.is_some()),
            right: count(&|trial| trial.within(trial.truth.tolerance)),
            known: count(&Trial::known),
            median: median(trials.clone().filter_map(Trial::error).map(f64::abs)),
            gross: gross.clone().count(),
            highest_confidence: gross.map(Trial::confidence).fold(0.0, f64::max),
            covered: [1.0, 2.0].map(|spreads| count(&|trial| trial.covered(spreads))),
            polarity: count(&Trial::polarity_right),
            absurd: count(&Trial::absurd),
        }
    }

    /// One line under [`Self::HEADER`].
    pub fn csv(&self) -> String {
        let Self {
            takes,
            answers,
            right,
            known,
            median,
            gross,
            highest_confidence,
            covered: [once, twice],
            polarity,
            absurd,
        } = self;
        format!(
            "{takes},{answers},{right},{known},{median:.4},{gross},{highest_confidence:.4},{once},{twice},{polarity},{absurd}"
        )
    }
}

impl fmt::Display for Score {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |count: usize| 100.0 * count as f64 / self.answers.max(1) as f64;
        write!(
            f,
            "right {:3} of {:3} ({:3} answers), within 1 cm {:3}, median {:7.2}, gross {:3} (confidence up to {:.2}), inside spread {:3.0} %, twice {:3.0} %, polarity {:3}, absurd {}",
            self.right,
            self.takes,
            self.answers,
            self.known,
            self.median,
            self.gross,
            self.highest_confidence,
            percent(self.covered[0]),
            percent(self.covered[1]),
            self.polarity,
            self.absurd
        )
    }
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// The fewest of `count` that an estimator right at `rate` may show: fewer happens to it in less than one run of a
/// hundred. It is how a limit stated for many takes is held with few.
pub fn fewest(count: usize, rate: f64) -> usize {
    let mut below = 0.0;
    let mut chance = (1.0 - rate).powi(count as i32);
    for right in 0..count {
        below += chance;
        if below >= 0.01 {
            return right;
        }
        chance *= (count - right) as f64 / (right + 1) as f64 * rate / (1.0 - rate);
    }
    count
}

/// Binomial tables: of 20 at 0.95, P(16 or fewer) = 0.0159 and P(15 or fewer) = 0.0026; of 10 at 0.5, P(0) = 0.001 and
/// P(1 or fewer) = 0.0107.
#[test]
fn fewest_of_the_binomial() {
    assert_eq!(fewest(20, 0.95), 16);
    assert_eq!(fewest(10, 0.5), 1);
    assert_eq!(fewest(1, 0.95), 0);
}
