//! The tape machine's settings as the plugin's parameters take them, and its line-up in words.

use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::third_harmonic::peak_dbfs_of;
use serde::Serialize;

/// The parameters of the print that is on, each with its value in its own unit or the number of its choice.
pub fn parameters(tape: &PrintSettings) -> Vec<(&'static str, f64)> {
    let mut all = vec![
        ("print", 1.0),
        ("tape_level", tape.level_db),
        ("tape_speed", f64::from(tape.speed as u8)),
        ("tape_eq", f64::from(tape.equalisation as u8)),
        ("tape_fluxivity", tape.lineup.fluxivity_nwb_m),
        ("tape_reference", tape.lineup.reference_dbfs),
    ];
    all.extend(tape.hiss_db.map(|db| ("hiss", db)));
    all
}

/// The line-up of a print, as an object of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct LineUp {
    /// dB over the reference fluxivity.
    pub level_to_tape_db: f64,
    /// Centimetres a second, as the trade rounds them.
    pub tape_speed_cm_s: u32,
    /// "IEC" or "NAB".
    pub equalisation: &'static str,
    /// dB over the reference fluxivity; null: none.
    pub tape_noise_db: Option<f64>,
    /// nWb/m.
    pub reference_fluxivity_nwb_m: f64,
    /// Sine that is recorded at the reference with the level to tape at 0 dB.
    pub reference_dbfs: f64,
    /// Peak of a 1 kHz sine that comes back with 3 % third harmonic, dBFS.
    pub three_per_cent_dbfs: f64,
}

impl LineUp {
    /// Of these settings.
    pub fn of(tape: &PrintSettings) -> Self {
        Self {
            level_to_tape_db: tape.level_db,
            tape_speed_cm_s: centimetres(tape.speed),
            equalisation: match tape.equalisation {
                Equalisation::Iec => "IEC",
                Equalisation::Nab => "NAB",
            },
            tape_noise_db: tape.hiss_db,
            reference_fluxivity_nwb_m: tape.lineup.fluxivity_nwb_m,
            reference_dbfs: tape.lineup.reference_dbfs,
            three_per_cent_dbfs: peak_dbfs_of(tape, 0.03),
        }
    }

    /// Each setting and its value.
    pub fn rows(&self) -> Vec<[String; 2]> {
        let noise = self.tape_noise_db;
        [
            ("level to tape", format!("{:+.1} dB", self.level_to_tape_db)),
            ("tape speed", format!("{} cm/s", self.tape_speed_cm_s)),
            ("equalisation", self.equalisation.to_owned()),
            (
                "tape noise",
                noise.map_or("off".to_owned(), |db| format!("{db:.1} dB")),
            ),
            (
                "reference fluxivity",
                format!("{:.0} nWb/m", self.reference_fluxivity_nwb_m),
            ),
            (
                "reference level",
                format!("a sine of {:.1} dBFS", self.reference_dbfs),
            ),
            (
                "3 % third harmonic",
                format!("a 1 kHz sine of {:.1} dBFS", self.three_per_cent_dbfs),
            ),
        ]
        .map(|(name, value)| [name.to_owned(), value])
        .to_vec()
    }

    /// In one line.
    pub fn words(&self) -> String {
        format!(
            "{:+.1} dB over {:.0} nWb/m, {} cm/s, {}; 3 % third harmonic at {:.1} dBFS",
            self.level_to_tape_db,
            self.reference_fluxivity_nwb_m,
            self.tape_speed_cm_s,
            self.equalisation,
            self.three_per_cent_dbfs
        )
    }
}

fn centimetres(speed: TapeSpeed) -> u32 {
    match speed {
        TapeSpeed::Cm19 => 19,
        TapeSpeed::Cm38 => 38,
        TapeSpeed::Cm76 => 76,
    }
}
