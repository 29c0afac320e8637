//! The choices of the tape machine, and what the core calls them.

use nice_plug::prelude::*;
use plumbline_dsp::print::settings;

/// How fast the tape runs: 7.5, 15 and 30 inches a second.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum TapeSpeed {
    #[id = "cm19"]
    #[name = "19 cm/s"]
    Cm19,
    #[id = "cm38"]
    #[name = "38 cm/s"]
    Cm38,
    #[id = "cm76"]
    #[name = "76 cm/s"]
    Cm76,
}

/// The standard of the recording and playback equalisers.
#[derive(Enum, Clone, Copy, Debug, PartialEq, Eq)]
pub enum Equalisation {
    #[id = "iec"]
    #[name = "IEC"]
    Iec,
    #[id = "nab"]
    #[name = "NAB"]
    Nab,
}

impl From<TapeSpeed> for settings::TapeSpeed {
    fn from(speed: TapeSpeed) -> Self {
        match speed {
            TapeSpeed::Cm19 => Self::Cm19,
            TapeSpeed::Cm38 => Self::Cm38,
            TapeSpeed::Cm76 => Self::Cm76,
        }
    }
}

impl From<Equalisation> for settings::Equalisation {
    fn from(equalisation: Equalisation) -> Self {
        match equalisation {
            Equalisation::Iec => Self::Iec,
            Equalisation::Nab => Self::Nab,
        }
    }
}
