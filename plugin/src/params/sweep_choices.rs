//! The choices of the Sweep mode, and what the core calls them.

use nice_plug::prelude::*;
use plumbline_dsp::decks::motion;

/// What moves the moving deck.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motion {
    #[id = "hand"]
    Hand,
    #[id = "cycle"]
    Cycle,
    #[id = "pass"]
    Pass,
    #[id = "drag"]
    Drag,
}

/// How the offset travels.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Curve {
    #[id = "sine"]
    Sine,
    #[id = "triangle"]
    Triangle,
    #[id = "reel"]
    Reel,
}

/// One cycle or one pass, in the song's own measure.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Length {
    #[id = "quarter_beat"]
    #[name = "1/4 beat"]
    QuarterBeat,
    #[id = "half_beat"]
    #[name = "1/2 beat"]
    HalfBeat,
    #[id = "beat"]
    #[name = "1 beat"]
    Beat,
    #[id = "two_beats"]
    #[name = "2 beats"]
    TwoBeats,
    #[id = "bar"]
    #[name = "1 bar"]
    Bar,
    #[id = "two_bars"]
    #[name = "2 bars"]
    TwoBars,
    #[id = "four_bars"]
    #[name = "4 bars"]
    FourBars,
    #[id = "eight_bars"]
    #[name = "8 bars"]
    EightBars,
    #[id = "sixteen_bars"]
    #[name = "16 bars"]
    SixteenBars,
}

impl Length {
    /// Quarter notes, where a bar has this many.
    pub fn beats(self, beats_per_bar: f64) -> f64 {
        match self {
            Self::QuarterBeat => 0.25,
            Self::HalfBeat => 0.5,
            Self::Beat => 1.0,
            Self::TwoBeats => 2.0,
            Self::Bar => beats_per_bar,
            Self::TwoBars => 2.0 * beats_per_bar,
            Self::FourBars => 4.0 * beats_per_bar,
            Self::EightBars => 8.0 * beats_per_bar,
            Self::SixteenBars => 16.0 * beats_per_bar,
        }
    }
}

impl From<Motion> for motion::Motion {
    fn from(motion: Motion) -> Self {
        match motion {
            Motion::Hand => Self::Hand,
            Motion::Cycle => Self::Cycle,
            Motion::Pass => Self::Pass,
            Motion::Drag => Self::Drag,
        }
    }
}

impl From<Curve> for motion::Curve {
    fn from(curve: Curve) -> Self {
        match curve {
            Curve::Sine => Self::Sine,
            Curve::Triangle => Self::Triangle,
            Curve::Reel => Self::Reel,
        }
    }
}
