//! Levels of a sound in bands of a sixth of an octave, a twelfth apart, over all of its length.

use realfft::RealFftPlanner;

use crate::audio::Sound;

/// Where the first band lies, and the last one, Hz.
const FROM_HZ: f64 = 60.0;
const TO_HZ: f64 = 16_000.0;
/// Bands to an octave, each twice as wide as its step.
const STEPS: f64 = 12.0;

/// Middle of each band in Hz and its level in dB, all channels together.
pub fn levels_db(sound: &Sound) -> Vec<(f64, f64)> {
    let lines = powers(sound);
    let frames = sound.channels[0].len();
    let line_hz = f64::from(sound.sample_rate) / frames as f64;
    let bands = (STEPS * (TO_HZ / FROM_HZ).log2()).floor() as i32;
    let level = |band: i32| {
        let middle = FROM_HZ * (f64::from(band) / STEPS).exp2();
        let edge = |steps: f64| {
            ((middle * (steps / STEPS).exp2() / line_hz).round() as usize).min(lines.len())
        };
        let power: f64 = lines[edge(-1.0)..edge(1.0)].iter().sum();
        (middle, 10.0 * power.max(f64::MIN_POSITIVE).log10())
    };
    (0..=bands).map(level).collect()
}

fn powers(sound: &Sound) -> Vec<f64> {
    let frames = sound.channels[0].len();
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(frames);
    let mut spectrum = transform.make_output_vec();
    let mut powers = vec![0.0; spectrum.len()];
    for channel in &sound.channels {
        let mut samples: Vec<f64> = channel.iter().map(|sample| f64::from(*sample)).collect();
        // The lengths are the plan's own, so that it cannot fail.
        if transform.process(&mut samples, &mut spectrum).is_ok() {
            powers
                .iter_mut()
                .zip(&spectrum)
                .for_each(|(power, line)| *power += line.norm_sqr());
        }
    }
    powers
}
