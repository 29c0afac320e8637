//! Flux on tape against frequency as the standards have it: two time constants.

use std::f64::consts::TAU;

use super::settings::{Equalisation, TapeSpeed};

/// Time constants of a standard, seconds: IEC 60094-1 clause 15, with the values that IASA TC-04 5.4.10 lists.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimeConstants {
    /// t₁: above 1 / 2πt₁ the flux falls. 0: it stays level.
    pub treble_s: f64,
    /// t₂: below 1 / 2πt₂ it rises. `None`: t₂ is infinite, it stays level.
    pub bass_s: Option<f64>,
}

impl TimeConstants {
    /// The same flux at every frequency.
    pub const NONE: Self = Self {
        treble_s: 0.0,
        bass_s: None,
    };

    /// Of a standard at a speed.
    pub fn of(speed: TapeSpeed, equalisation: Equalisation) -> Self {
        let (treble_us, bass_us) = match (speed, equalisation) {
            (TapeSpeed::Cm19, Equalisation::Iec) => (70.0, None),
            (TapeSpeed::Cm38, Equalisation::Iec) => (35.0, None),
            (TapeSpeed::Cm19 | TapeSpeed::Cm38, Equalisation::Nab) => (50.0, Some(3180.0)),
            (TapeSpeed::Cm76, _) => (17.5, None),
        };
        Self {
            treble_s: treble_us * 1e-6,
            bass_s: bass_us.map(|us: f64| us * 1e-6),
        }
    }

    /// Flux at `hz` against its level between the two corners, dB:
    /// 10 log (1 + 1 / (2πf t₂)²) - 10 log (1 + (2πf t₁)²).
    pub fn flux_db(&self, hz: f64) -> f64 {
        self.bass_db(hz) - 20.0 * self.treble_amplitude(hz).log10()
    }

    /// The rise of the bass alone, dB.
    fn bass_db(&self, hz: f64) -> f64 {
        let rise = |t2: f64| 10.0 * (1.0 + 1.0 / (TAU * hz * t2).powi(2)).log10();
        self.bass_s.map_or(0.0, rise)
    }

    /// What playback multiplies by to undo the fall of the treble.
    pub fn treble_amplitude(&self, hz: f64) -> f64 {
        (TAU * hz * self.treble_s).hypot(1.0)
    }
}
