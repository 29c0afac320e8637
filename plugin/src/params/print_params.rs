//! The tape machine's controls, and what the core makes of them.

use super::print_choices::{Equalisation, TapeSpeed};
use super::units::{level_db, level_or_off, linear};
use nice_plug::prelude::*;
use plumbline_dsp::print::settings::{Lineup, PrintSettings};

/// The lowest tape noise, dB over the reference fluxivity: below it lies off.
pub const LOWEST_HISS_DB: f32 = -80.0;

/// The controls of the print. The ids are in saved sessions: they are never renamed.
#[derive(Params)]
pub struct PrintParams {
    /// The tape stage stands in the path. Decides the latency.
    #[id = "print"]
    pub on: BoolParam,
    /// dB over the reference fluxivity
    #[id = "tape_level"]
    pub level: FloatParam,
    #[id = "tape_speed"]
    pub speed: EnumParam<TapeSpeed>,
    #[id = "tape_eq"]
    pub equalisation: EnumParam<Equalisation>,
    /// dB over the reference fluxivity, off below [`LOWEST_HISS_DB`]
    #[id = "hiss"]
    pub hiss: FloatParam,
    /// nWb/m, the flux that counts as 0 dB
    #[id = "tape_fluxivity"]
    pub fluxivity: FloatParam,
    /// dBFS, the peak of a sine that is recorded there at level 0
    #[id = "tape_reference"]
    pub reference: FloatParam,
}

impl Default for PrintParams {
    fn default() -> Self {
        let Lineup {
            fluxivity_nwb_m,
            reference_dbfs,
        } = Lineup::STANDARD;
        let (fluxivity, reference) = (fluxivity_nwb_m as f32, reference_dbfs as f32);
        Self {
            on: BoolParam::new("Print", false).non_automatable(),
            level: linear("Level to tape", 0.0, -12.0, 18.0, " dB", 1),
            speed: EnumParam::new("Tape speed", TapeSpeed::Cm38),
            equalisation: EnumParam::new("Equalisation", Equalisation::Iec),
            hiss: level_or_off("Tape noise", LOWEST_HISS_DB, -40.0),
            fluxivity: linear("Reference fluxivity", fluxivity, 100.0, 1000.0, " nWb/m", 0),
            reference: linear("Reference level", reference, -40.0, 0.0, " dBFS", 1),
        }
    }
}

impl PrintParams {
    /// The machine as the knobs stand now.
    pub fn settings(&self) -> PrintSettings {
        PrintSettings {
            level_db: self.level.value().into(),
            speed: self.speed.value().into(),
            equalisation: self.equalisation.value().into(),
            hiss_db: level_db(&self.hiss, LOWEST_HISS_DB),
            lineup: Lineup {
                fluxivity_nwb_m: self.fluxivity.value().into(),
                reference_dbfs: self.reference.value().into(),
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn untouched_is_the_machine_as_the_core_has_it() {
        let untouched = PrintParams::default();
        assert!(!untouched.on.value());
        assert_eq!(untouched.settings(), PrintSettings::default());
    }
}
