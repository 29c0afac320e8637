//! Third harmonic against level: what a 1 kHz sine recorded at any level plays back with, in closed form.

use std::f64::consts::PI;

use super::machine::Machine;
use super::magnetisation::{SATURATION, langevin};
use super::settings::PrintSettings;
use crate::units::{amplitude, decibels};

/// The three lines of the meter: 0.3, 1 and 3 %, the last of which is the maximum output level of DIN 45500.
pub const LINES: [f64; 3] = [0.003, 0.01, 0.03];
/// Tone that tape is measured with, hertz.
const TONE_HZ: f64 = 1000.0;
/// Points over a quarter of the sine: the series they stand for has died out long before.
const POINTS: usize = 128;
/// Levels that can have a third harmonic of interest, dB over 320 nWb/m.
const LEVELS_DB: (f64, f64) = (-60.0, 60.0);

/// Amplitudes of a distorted cosine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Harmonics {
    pub first: f64,
    pub third: f64,
}

/// Fundamental and third harmonic of L(`argument` cos θ).
pub fn harmonics(argument: f64) -> Harmonics {
    let mut sums = Harmonics {
        first: 0.0,
        third: 0.0,
    };
    for n in 0..POINTS {
        let angle = (n as f64 + 0.5) / POINTS as f64 * PI / 2.0;
        let flux = 2.0 / POINTS as f64 * langevin(argument * angle.cos());
        sums.first += flux * angle.cos();
        sums.third += flux * (3.0 * angle).cos();
    }
    sums
}

/// A 1 kHz tone as played back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlayedTone {
    /// Its fundamental, dB over 320 nWb/m.
    pub level_db: f64,
    /// Third harmonic as a part of the fundamental.
    pub third: f64,
}

/// What a tone of `level_db` over 320 nWb/m, as recorded without saturation, plays back as.
pub fn played_tone(machine: &Machine, level_db: f64) -> PlayedTone {
    let argument = amplitude(level_db + machine.recording_db(TONE_HZ)) / SATURATION;
    let Harmonics { first, third } = harmonics(argument);
    let playback = machine.playback_db(3.0 * TONE_HZ) - machine.playback_db(TONE_HZ);
    PlayedTone {
        level_db: level_db + decibels(3.0 * first / argument),
        third: third.abs() / first * amplitude(playback),
    }
}

/// Peak of a sine, dBFS, that these settings print with this part of third harmonic.
pub fn peak_dbfs_of(settings: &PrintSettings, third: f64) -> f64 {
    let machine = Machine::lined_up(settings.speed, settings.equalisation);
    let (mut low, mut high) = LEVELS_DB;
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if played_tone(&machine, middle).third < third {
            low = middle;
        } else {
            high = middle;
        }
    }
    low - decibels(settings.gain_to_tape())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weak_field_has_the_cubic_terms_harmonic() {
        // L = h/3 - h³/45 ...: third over first is h²/60.
        let Harmonics { first, third } = harmonics(0.01);
        assert!((third.abs() / first / (1e-4 / 60.0) - 1.0).abs() < 1e-4);
        assert!((first / 0.01 * 3.0 - 1.0).abs() < 1e-5);
    }

    #[test]
    fn a_louder_print_reaches_the_line_at_a_lower_peak() {
        let settings = PrintSettings::default();
        let hot = PrintSettings {
            level_db: 9.0,
            ..settings
        };
        let moved = peak_dbfs_of(&settings, 0.03) - peak_dbfs_of(&hot, 0.03);
        assert!((moved - 9.0).abs() < 1e-6, "{moved}");
    }
}
