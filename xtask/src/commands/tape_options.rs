//! The options of the tape machine, as `align` and `sweep` take them.

use clap::{Args, ValueEnum};
use plumbline_dsp::print::settings::{Equalisation, Lineup, PrintSettings, TapeSpeed};

use super::typed::number;
use crate::failure::{Outcome, refuse};

/// The tape machine.
#[derive(Args, Clone, Copy, Debug)]
#[command(next_help_heading = "Tape")]
pub struct TapeOptions {
    /// Print on two-track tape
    #[arg(long)]
    print: bool,
    /// How hot the print is recorded, dB over the reference; it comes back as loud as it was [default: 0]
    #[arg(long, value_name = "DB", value_parser = level, allow_negative_numbers = true)]
    level_to_tape: Option<f64>,
    /// Tape speed, cm/s [default: 38]
    #[arg(long, value_enum, value_name = "SPEED")]
    tape_speed: Option<SpeedChoice>,
    /// Standard of the equalisers [default: iec]
    #[arg(long, value_enum, value_name = "CURVE")]
    tape_eq: Option<EqualisationChoice>,
    /// Tape noise, dB over the reference; left out: none
    #[arg(long, value_name = "DB", value_parser = noise, allow_negative_numbers = true)]
    tape_noise: Option<f64>,
    /// Reference fluxivity that the machine is lined up for, nWb/m [default: 320]
    #[arg(long, value_name = "NWB/M", value_parser = fluxivity)]
    fluxivity: Option<f64>,
    /// Sine that is recorded at the reference with --level-to-tape 0, dBFS [default: -18]
    #[arg(long, value_name = "DBFS", value_parser = reference, allow_negative_numbers = true)]
    reference_level: Option<f64>,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum SpeedChoice {
    /// 19.05 cm/s, 7.5 inches a second
    #[value(name = "19")]
    Cm19,
    /// 38.1 cm/s, 15 inches a second
    #[value(name = "38")]
    Cm38,
    /// 76.2 cm/s, 30 inches a second
    #[value(name = "76")]
    Cm76,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum EqualisationChoice {
    /// IEC 60094-1
    Iec,
    /// NAB
    Nab,
}

impl TapeOptions {
    /// The machine; `None`: no print is asked for.
    pub fn settings(&self) -> Outcome<Option<PrintSettings>> {
        if !self.print {
            return match self.set() {
                None => Ok(None),
                Some(option) => refuse(format!("{option} works with --print")),
            };
        }
        let usual = PrintSettings::default();
        let lineup = Lineup {
            fluxivity_nwb_m: self.fluxivity.unwrap_or(usual.lineup.fluxivity_nwb_m),
            reference_dbfs: self.reference_level.unwrap_or(usual.lineup.reference_dbfs),
        };
        Ok(Some(PrintSettings {
            level_db: self.level_to_tape.unwrap_or(usual.level_db),
            speed: self.tape_speed.map_or(usual.speed, TapeSpeed::from),
            equalisation: self.tape_eq.map_or(usual.equalisation, Equalisation::from),
            hiss_db: self.tape_noise,
            lineup,
        }))
    }

    /// A setting that was typed, by its option.
    fn set(&self) -> Option<&'static str> {
        let options = [
            ("--level-to-tape", self.level_to_tape.is_some()),
            ("--tape-speed", self.tape_speed.is_some()),
            ("--tape-eq", self.tape_eq.is_some()),
            ("--tape-noise", self.tape_noise.is_some()),
            ("--fluxivity", self.fluxivity.is_some()),
            ("--reference-level", self.reference_level.is_some()),
        ];
        let set = options.into_iter().find(|(_, is_set)| *is_set);
        set.map(|(option, _)| option)
    }
}

impl From<SpeedChoice> for TapeSpeed {
    fn from(choice: SpeedChoice) -> Self {
        match choice {
            SpeedChoice::Cm19 => Self::Cm19,
            SpeedChoice::Cm38 => Self::Cm38,
            SpeedChoice::Cm76 => Self::Cm76,
        }
    }
}

impl From<EqualisationChoice> for Equalisation {
    fn from(choice: EqualisationChoice) -> Self {
        match choice {
            EqualisationChoice::Iec => Self::Iec,
            EqualisationChoice::Nab => Self::Nab,
        }
    }
}

fn level(text: &str) -> Result<f64, String> {
    number(text, -12.0..=18.0, "the level to tape, in dB,")
}

fn noise(text: &str) -> Result<f64, String> {
    number(text, -80.0..=-40.0, "the tape noise, in dB,")
}

fn fluxivity(text: &str) -> Result<f64, String> {
    number(text, 100.0..=1000.0, "the reference fluxivity, in nWb/m,")
}

fn reference(text: &str) -> Result<f64, String> {
    number(text, -40.0..=0.0, "the reference level, in dBFS,")
}
