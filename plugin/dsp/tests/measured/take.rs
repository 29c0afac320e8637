//! A recording of a whole kit with a known gap: two overheads, a kick's and a snare's microphone.

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measurement::Polarity;

use crate::measure::Answer;
use crate::score::Trial;

/// Second minus first of one drum, and how far an answer may be from it to count as right, samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    pub gap: f64,
    pub tolerance: f64,
}

#[derive(Clone)]
pub struct Take {
    /// Samples a second.
    pub rate: f64,
    pub first: Vec<f32>,
    pub second: Vec<f32>,
    pub kick: Vec<f32>,
    pub snare: Vec<f32>,
    pub truth: Truth,
    /// Second against first.
    pub polarity: Polarity,
}

/// Which microphone is on the side chain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    None,
    Kick,
    Snare,
}

impl Spot {
    pub const ALL: [Self; 3] = [Self::None, Self::Kick, Self::Snare];
}

/// Channels in, an answer out: the analyser's [`crate::measure::measure`], or a baseline.
pub type Estimator = fn([&[f32]; 3], Inputs, f64) -> Option<Answer>;

impl Take {
    /// What an estimator says when it hears the overheads and one spot.
    pub fn tried(&self, estimator: Estimator, spot: Spot) -> Trial {
        let (side, inputs): (&[f32], _) = match spot {
            Spot::None => (&[], Inputs::Pair),
            Spot::Kick => (&self.kick, Inputs::PairAndSpot),
            Spot::Snare => (&self.snare, Inputs::PairAndSpot),
        };
        Trial {
            answer: estimator([&self.first, &self.second, side], inputs, self.rate),
            truth: self.truth,
            polarity: self.polarity,
            rate: self.rate,
        }
    }
}
