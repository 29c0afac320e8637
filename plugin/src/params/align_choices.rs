//! The choices of the Align mode and of the whole plugin, and what the core calls them.

use nice_plug::prelude::*;
use plumbline_dsp::measure::DrumChoice;
use plumbline_dsp::measurement::Signature;
use plumbline_dsp::plan;

/// The two uses of the one core. Decides the latency.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    #[id = "align"]
    Align,
    #[id = "sweep"]
    Sweep,
}

/// What is sent to the ear.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Monitor {
    #[id = "stereo"]
    Stereo,
    #[id = "mono"]
    Mono,
    #[id = "difference"]
    Difference,
    #[id = "spot"]
    Spot,
}

/// The signal that stays where it is.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    #[id = "later"]
    Later,
    #[id = "first"]
    First,
    #[id = "second"]
    Second,
    #[id = "spot"]
    Spot,
}

/// What a match aims at.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    #[id = "attack"]
    Attack,
    #[id = "body"]
    Body,
    #[id = "kit"]
    Kit,
}

/// Which drum is aligned.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Drum {
    #[id = "auto"]
    Auto,
    #[id = "snare"]
    Snare,
    #[id = "kick"]
    Kick,
    #[id = "tom"]
    Tom,
    #[id = "picked"]
    Picked,
}

/// What is done about the polarity of the second channel (of a mono main: of the channel).
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    #[id = "as_measured"]
    #[name = "As measured"]
    AsMeasured,
    #[id = "as_recorded"]
    #[name = "As recorded"]
    AsRecorded,
    #[id = "flipped"]
    Flipped,
}

impl From<Anchor> for plan::Anchor {
    fn from(anchor: Anchor) -> Self {
        match anchor {
            Anchor::Later => Self::Later,
            Anchor::First => Self::First,
            Anchor::Second => Self::Second,
            Anchor::Spot => Self::Spot,
        }
    }
}

impl From<Match> for plan::Match {
    fn from(target: Match) -> Self {
        match target {
            Match::Attack => Self::Attack,
            Match::Body => Self::Body,
            Match::Kit => Self::Kit,
        }
    }
}

impl Drum {
    /// What the measurement is asked for. `picked` is what the picked drum sounds like: without one, the choice is free.
    pub fn choice(self, picked: Option<Signature>) -> DrumChoice {
        match self {
            Self::Auto => DrumChoice::Auto,
            Self::Snare => DrumChoice::Snare,
            Self::Kick => DrumChoice::Kick,
            Self::Tom => DrumChoice::Tom,
            Self::Picked => picked.map_or(DrumChoice::Auto, DrumChoice::Picked),
        }
    }
}

impl From<Polarity> for plan::PolarityChoice {
    fn from(polarity: Polarity) -> Self {
        match polarity {
            Polarity::AsMeasured => Self::AsMeasured,
            Polarity::AsRecorded => Self::AsRecorded,
            Polarity::Flipped => Self::Flipped,
        }
    }
}
