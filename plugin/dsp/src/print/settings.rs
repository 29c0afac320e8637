//! What the engineer sets on the tape machine: level to tape, speed, equalisation, noise, and what 0 dB means.

use std::f64::consts::SQRT_2;

use crate::units::amplitude;

/// Level to tape, dB over the reference fluxivity: from barely magnetised to far into saturation.
const LEVELS_DB: std::ops::RangeInclusive<f64> = -12.0..=18.0;
/// Tape noise, dB over the reference fluxivity.
const NOISE_DB: std::ops::RangeInclusive<f64> = -80.0..=-40.0;
/// Reference fluxivities in use lie between 185 and 514 nWb/m.
const FLUXIVITIES_NWB_M: std::ops::RangeInclusive<f64> = 100.0..=1000.0;
/// Where a digital reference level may lie, dBFS.
const REFERENCES_DBFS: std::ops::RangeInclusive<f64> = -40.0..=0.0;

/// Tape speed: 7.5, 15 and 30 inches a second, named by the whole centimetres that the trade rounds them to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum TapeSpeed {
    /// 19.05 cm/s.
    Cm19,
    /// 38.1 cm/s.
    #[default]
    Cm38,
    /// 76.2 cm/s.
    Cm76,
}

impl TapeSpeed {
    /// From the slowest.
    pub const ALL: [Self; 3] = [Self::Cm19, Self::Cm38, Self::Cm76];

    /// Metres a second, exact.
    pub fn metres_a_second(self) -> f64 {
        match self {
            Self::Cm19 => 0.1905,
            Self::Cm38 => 0.381,
            Self::Cm76 => 0.762,
        }
    }
}

/// Which standard the recording and playback equalisers follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Equalisation {
    /// IEC 60094-1; at 76 cm/s the curve of 1981 that it shares with AES.
    #[default]
    Iec,
    /// NAB; at 76 cm/s, where it has no curve, the one of IEC and AES.
    Nab,
}

impl Equalisation {
    /// Both.
    pub const ALL: [Self; 2] = [Self::Iec, Self::Nab];
}

/// What a digital level means on tape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lineup {
    /// Flux that counts as 0 dB, nWb/m rms at 1 kHz; 100 to 1000.
    pub fluxivity_nwb_m: f64,
    /// Level of a sine that is recorded there when the level to tape is 0 dB, dBFS (peak of the sine); -40 to 0.
    pub reference_dbfs: f64,
}

impl Lineup {
    /// 320 nWb/m, the reference of IEC 60094-1 test tapes (from memory), at -18 dBFS, the alignment level of EBU R 68
    /// (from memory).
    pub const STANDARD: Self = Self {
        fluxivity_nwb_m: 320.0,
        reference_dbfs: -18.0,
    };

    /// Flux of a sample of 1 with the level to tape at 0 dB, in peaks of a sine at 320 nWb/m.
    fn flux_of_full_scale(self) -> f64 {
        self.fluxivity_nwb_m / Self::STANDARD.fluxivity_nwb_m / amplitude(self.reference_dbfs)
    }
}

impl Default for Lineup {
    fn default() -> Self {
        Self::STANDARD
    }
}

/// One setting of the machine.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct PrintSettings {
    /// Level to tape, dB over the reference fluxivity, -12 to 18. The output comes back by as much.
    pub level_db: f64,
    pub speed: TapeSpeed,
    pub equalisation: Equalisation,
    /// Noise of unrecorded tape, dB over the reference fluxivity (rms, 20 Hz to 20 kHz), -80 to -40; with it the noise
    /// that the recording itself makes. `None`: neither.
    pub hiss_db: Option<f64>,
    pub lineup: Lineup,
}

impl PrintSettings {
    /// The nearest settings that the mathematics can use.
    pub fn sane(self) -> Self {
        let within = |x: f64, range: std::ops::RangeInclusive<f64>, other: f64| match x.is_nan() {
            true => other,
            false => x.clamp(*range.start(), *range.end()),
        };
        let standard = Lineup::STANDARD;
        Self {
            level_db: within(self.level_db, LEVELS_DB, 0.0),
            hiss_db: self.hiss_db.map(|db| within(db, NOISE_DB, -80.0)),
            lineup: Lineup {
                fluxivity_nwb_m: within(
                    self.lineup.fluxivity_nwb_m,
                    FLUXIVITIES_NWB_M,
                    standard.fluxivity_nwb_m,
                ),
                reference_dbfs: within(
                    self.lineup.reference_dbfs,
                    REFERENCES_DBFS,
                    standard.reference_dbfs,
                ),
            },
            ..self
        }
    }

    /// Flux of a sample of 1, in peaks of a sine at 320 nWb/m: the gain to tape. Above 0.
    pub fn gain_to_tape(&self) -> f64 {
        let sane = self.sane();
        amplitude(sane.level_db) * sane.lineup.flux_of_full_scale()
    }

    /// Rms of the noise of unrecorded tape, in peaks of a sine at 320 nWb/m; 0 when it is off.
    pub fn hiss_flux(&self) -> f64 {
        let sane = self.sane();
        let reference = sane.lineup.fluxivity_nwb_m / Lineup::STANDARD.fluxivity_nwb_m;
        sane.hiss_db
            .map_or(0.0, |db| amplitude(db) * reference / SQRT_2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_at_the_reference_is_one_at_level_zero() {
        let settings = PrintSettings::default();
        assert!((settings.gain_to_tape() * amplitude(-18.0) - 1.0).abs() < 1e-12);
        let hotter = PrintSettings {
            level_db: 6.0,
            ..settings
        };
        assert!((hotter.gain_to_tape() / settings.gain_to_tape() - amplitude(6.0)).abs() < 1e-12);
    }

    #[test]
    fn no_setting_is_too_absurd() {
        let absurd = PrintSettings {
            level_db: f64::NAN,
            hiss_db: Some(f64::INFINITY),
            lineup: Lineup {
                fluxivity_nwb_m: f64::NAN,
                reference_dbfs: f64::NEG_INFINITY,
            },
            ..PrintSettings::default()
        };
        assert!(absurd.gain_to_tape().is_finite() && absurd.gain_to_tape() > 0.0);
        assert!(absurd.hiss_flux().is_finite());
    }
}
