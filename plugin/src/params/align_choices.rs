//! The choices of the Align mode and of the whole plugin, and what the core calls them.

use crate::exchange::{Asked, Pick};
use nice_plug::prelude::*;
use plumbline_dsp::measure::DrumChoice;
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

#[cfg(feature = "editor")]
impl Anchor {
    /// By its place in the parameter.
    pub fn of(place: usize) -> Self {
        Self::from_index(place.min(3))
    }
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
    /// What the measurement is asked for. Without a picked drum the choice is free.
    pub fn asked(self, picked: Pick) -> Asked {
        Asked::Drum(match (self, picked) {
            (Self::Auto, _) | (Self::Picked, Pick::Nothing) => DrumChoice::Auto,
            (Self::Snare, _) => DrumChoice::Snare,
            (Self::Kick, _) => DrumChoice::Kick,
            (Self::Tom, _) => DrumChoice::Tom,
            (Self::Picked, Pick::Drum(signature)) => DrumChoice::Picked(signature),
            (Self::Picked, Pick::NextHits(request)) => return Asked::NextHits(request),
        })
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
