//! Tape noise: hiss, and the noise that a recording itself makes, as seeded functions of the song's position.

use std::f64::consts::TAU;

use super::amplifier::{MOST_HALF, half_taps};
use super::history::{FRAME, filter};
use super::linear_phase::linear_phase;
use super::machine::Machine;
use crate::math::widest::{Arithmetic, Work, run_widest};
use crate::units::amplitude;

/// Level is that of this band, hertz.
const BAND_HZ: (f64, f64) = (20.0, 20_000.0);
/// Noise of saturated tape over that of unrecorded tape, dB, at 38 cm/s (Eldridge 1964, as quoted by TU Eindhoven).
const SATURATED_DB: f64 = 15.0;
/// Points a second of the noise that multiplies the recording: it lies below about 500 Hz, between the 200 and 1000 Hz that
/// models of it use.
const KNOTS: f64 = 1000.0;
/// Rms of even noise between -1 and 1.
const EVEN_RMS: f64 = 0.577_350_269_189_625_8;
/// Mean of the sum of squares of a Catmull-Rom cubic's four weights, from its integral over the span.
const CUBIC_POWER: f64 = 57.0 / 70.0;

/// Seeds of the two kinds; the channel's number is added.
const HISS_SEED: u32 = 0x4155_0001;
const MODULATION_SEED: u32 = 0x4D4F_0001;

/// Share of the signal that the modulation moves, against the rms of unrecorded tape as a part of full magnetisation.
pub fn modulation() -> f64 {
    (amplitude(SATURATED_DB).powi(2) - 1.0).sqrt()
}

/// What one block of noise is made of.
#[derive(Clone, Copy, Debug)]
pub struct NoiseLevels {
    /// Rms of the hiss at the output.
    pub hiss: f32,
    /// Rms of the modulation as a part of the signal.
    pub modulation: f32,
}

impl NoiseLevels {
    /// No noise.
    pub const SILENT: Self = Self {
        hiss: 0.0,
        modulation: 0.0,
    };
}

/// Adds noise to `audio`, at most a frame, whose first sample is number `index` of the song; `levels` sample by sample.
pub fn add_noise(
    taps: &[f32],
    channel: u32,
    index: i64,
    sample_rate: f64,
    levels: &[NoiseLevels],
    audio: &mut [f32],
) {
    let mut hiss = [0.0; FRAME];
    let hiss = &mut hiss[..audio.len()];
    fill_hiss(taps, channel, index, hiss);
    let mut slow = SlowNoise::new(MODULATION_SEED + channel, sample_rate);
    for (n, (x, level)) in audio.iter_mut().zip(levels).enumerate() {
        let swing = level.modulation * slow.at(index.wrapping_add(n as i64));
        *x += *x * swing + hiss[n] * level.hiss;
    }
}

/// White noise through the taps.
fn fill_hiss(taps: &[f32], channel: u32, index: i64, out: &mut [f32]) {
    let mut white = [0.0; FRAME + 2 * MOST_HALF];
    let white = &mut white[..taps.len() + out.len() - 1];
    let first = index.wrapping_sub(taps.len() as i64 / 2);
    run_widest(White {
        seed: HISS_SEED + channel,
        first,
        out: white,
    });
    filter(taps, white, out);
}

/// Even noise in a row.
struct White<'a> {
    seed: u32,
    first: i64,
    out: &'a mut [f32],
}

impl Work for White<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        for (n, x) in self.out.iter_mut().enumerate() {
            *x = even_noise(self.seed, self.first.wrapping_add(n as i64));
        }
    }
}

/// Unit rms below half of [`KNOTS`]: a cubic through even noise.
struct SlowNoise {
    seed: u32,
    knots_a_sample: f64,
    /// Number of the knot before the last sample, and the four around it.
    whole: i64,
    knots: [f64; 4],
}

impl SlowNoise {
    fn new(seed: u32, sample_rate: f64) -> Self {
        Self {
            seed,
            knots_a_sample: KNOTS / sample_rate,
            whole: i64::MIN,
            knots: [0.0; 4],
        }
    }

    /// At a sample of the song.
    fn at(&mut self, index: i64) -> f32 {
        let place = index as f64 * self.knots_a_sample;
        let whole = place.floor();
        if whole as i64 != self.whole {
            self.whole = whole as i64;
            let knot = |n: i64| f64::from(even_noise(self.seed, self.whole.wrapping_add(n)));
            self.knots = [knot(-1), knot(0), knot(1), knot(2)];
        }
        (catmull_rom(self.knots, place - whole) / (EVEN_RMS * CUBIC_POWER.sqrt())) as f32
    }
}

/// Cubic from b (t = 0) to c (t = 1), each with the slope between its neighbours.
fn catmull_rom([a, b, c, d]: [f64; 4], t: f64) -> f64 {
    let (rise, bend) = (c - a, 2.0 * a - 5.0 * b + 4.0 * c - d);
    b + 0.5 * t * (rise + t * (bend + t * (3.0 * (b - c) + d - a)))
}

/// Noise number `index`, even from -1 to 1: two rounds of a multiplying hash.
#[inline(always)]
fn even_noise(seed: u32, index: i64) -> f32 {
    let (low, high) = (index as u32, (index >> 32) as u32);
    let mixed = mix(low ^ mix(high ^ mix(seed)));
    (mixed >> 8) as f32 * (2.0 / (1 << 24) as f32) - 1.0
}

/// Spreads every bit over all (Wellons' 32-bit hash of low bias, from memory).
#[inline(always)]
fn mix(mut x: u32) -> u32 {
    x = (x ^ (x >> 16)).wrapping_mul(0x7FEB_352D);
    x = (x ^ (x >> 15)).wrapping_mul(0x846C_A68B);
    x ^ (x >> 16)
}

/// Taps that give white noise between -1 and 1 the spectrum of tape noise as this machine plays it, and unit rms.
pub fn hiss_taps(machine: &Machine, sample_rate: f64) -> Vec<f32> {
    let top_hz = BAND_HZ.1.min(0.45 * sample_rate);
    let wanted = |hz: f64| noise_amplitude(machine, hz.clamp(BAND_HZ.0, BAND_HZ.1));
    let taps = linear_phase(wanted, half_taps(sample_rate), top_hz, sample_rate);
    const LINES: usize = 400;
    let width = (top_hz - BAND_HZ.0) / LINES as f64;
    let lines = (0..LINES).map(|n| BAND_HZ.0 + (n as f64 + 0.5) * width);
    let power: f64 = lines.map(|hz| wanted(hz).powi(2) * width).sum();
    // White noise has its power evenly up to half the rate.
    let rms = EVEN_RMS * (power / (sample_rate / 2.0)).sqrt();
    taps.iter()
        .map(|tap| (f64::from(*tap) / rms) as f32)
        .collect()
}

/// Noise of the particles of a coating as flux, (1 - e^(-2kδ)) / k · e^(-2kd) in power (Mallinson 1969, from memory), through
/// the head's gap and the playback equaliser.
fn noise_amplitude(machine: &Machine, hz: f64) -> f64 {
    let losses = machine.losses;
    let wavelength_um = machine.metres_a_second / hz * 1e6;
    let k = TAU / wavelength_um;
    let depth = 2.0 * k * losses.coating_um.max(1e-3);
    let medium = -f64::exp_m1(-depth) / depth;
    let head = super::losses::Losses {
        coating_um: 0.0,
        erasure_um: 0.0,
        ..losses
    };
    medium.sqrt() * head.amplitude(wavelength_um) * machine.time_constants.treble_amplitude(hz)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_noises_have_unit_rms() {
        let rms = |values: &dyn Fn(i64) -> f64| {
            ((0..200_000).map(|n| values(n).powi(2)).sum::<f64>() / 200_000.0).sqrt()
        };
        let even = rms(&|n| f64::from(even_noise(1, n)));
        assert!((even - EVEN_RMS).abs() < 0.002, "{even}");
        let mut noise = SlowNoise::new(1, 48_000.0);
        let slow: Vec<f64> = (0..400_000).map(|n| f64::from(noise.at(n * 7))).collect();
        let slow = (slow.iter().map(|x| x * x).sum::<f64>() / slow.len() as f64).sqrt();
        assert!((slow - 1.0).abs() < 0.02, "{slow}");
    }
}
