//! What the mono sum of a pair loses against a pair that stands together: over all, and by third octaves.

use std::f64::consts::PI;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::meters::correlation::Powers;

/// A sum that is gone; also keeps every reading finite.
pub const FLOOR_DB: f64 = -120.0;
/// Third octaves from 100 Hz to 5 kHz, where a snare's body and a thin sum are heard.
pub const BANDS: usize = 18;
/// Number of the 100 Hz band: centres are 1000 · 10^(n/10) Hz (IEC 61260-1:2014, 5.2 and 5.4).
const LOWEST_BAND: i32 = -10;
/// Widest step between spectrum lines, hertz: six lines in the narrowest band.
const LINE_HZ: f64 = 4.0;
/// Part of the window that is faded at each end.
const TAPER: f64 = 0.05;

/// Loss of the mono sum against the coherent sum of the same channels, dB, 0 down:
/// 10 log (P₁ + P₂ + 2 shared) / (√P₁ + √P₂)². Silence loses nothing.
pub fn mono_sum_loss_db(powers: Powers) -> f64 {
    let coherent = (powers.first.sqrt() + powers.second.sqrt()).powi(2);
    let sum = powers.first + powers.second + 2.0 * powers.shared;
    if coherent > 0.0 {
        (10.0 * (sum.max(0.0) / coherent).log10()).clamp(FLOOR_DB, 0.0)
    } else {
        0.0
    }
}

/// Centre of band `index` (0 to `BANDS` - 1), exact, in hertz.
pub fn band_hz(index: usize) -> f64 {
    1000.0 * 10f64.powf(f64::from(LOWEST_BAND + index as i32) / 10.0)
}

/// Losses of one pair of stretches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandLosses {
    /// Loss of each third octave from 100 Hz, dB; see [`band_hz`].
    pub bands_db: [f64; BANDS],
}

impl BandLosses {
    /// Index of the band that loses most, and its loss in dB.
    pub fn worst(&self) -> (usize, f64) {
        let bands = self.bands_db.iter().copied().enumerate();
        bands.fold((0, 0.0), |a, b| if b.1 < a.1 { b } else { a })
    }
}

/// Measures stretches of one length. `new` plans and allocates; `measure` does not.
pub struct BandMeter {
    sample_rate: f64,
    length: usize,
    fft: Arc<dyn RealToComplex<f64>>,
    time: Vec<f64>,
    first: Vec<Complex<f64>>,
    second: Vec<Complex<f64>>,
    scratch: Vec<Complex<f64>>,
}

impl BandMeter {
    /// For stretches of `length` samples.
    pub fn new(sample_rate: f64, length: usize) -> Self {
        let lines = (sample_rate / LINE_HZ) as usize;
        let size = length.max(lines).next_power_of_two();
        let fft = RealFftPlanner::new().plan_fft_forward(size);
        Self {
            sample_rate,
            length,
            time: fft.make_input_vec(),
            first: fft.make_output_vec(),
            second: fft.make_output_vec(),
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Losses in every band of a pair of stretches; shorter ones are filled up with silence.
    pub fn measure(&mut self, first: &[f32], second: &[f32]) -> BandLosses {
        let mut spectrum = std::mem::take(&mut self.first);
        self.transform(first, &mut spectrum);
        self.first = spectrum;
        let mut spectrum = std::mem::take(&mut self.second);
        self.transform(second, &mut spectrum);
        self.second = spectrum;
        BandLosses {
            bands_db: std::array::from_fn(|band| mono_sum_loss_db(self.band_powers(band))),
        }
    }

    fn transform(&mut self, samples: &[f32], spectrum: &mut [Complex<f64>]) {
        self.time.fill(0.0);
        let count = samples.len().min(self.length);
        for (index, (time, &sample)) in self.time.iter_mut().zip(&samples[..count]).enumerate() {
            *time = f64::from(sample) * taper(index, count);
        }
        self.fft
            .process_with_scratch(&mut self.time, spectrum, &mut self.scratch)
            .expect("buffers made by the plan itself");
    }

    fn band_powers(&self, band: usize) -> Powers {
        let line_hz = self.sample_rate / self.time.len() as f64;
        let edge = 10f64.powf(0.05);
        let line = |hz: f64| ((hz / line_hz).ceil() as usize).min(self.first.len());
        let lines = line(band_hz(band) / edge)..line(band_hz(band) * edge);
        let mut powers = Powers::default();
        for (a, b) in self.first[lines.clone()].iter().zip(&self.second[lines]) {
            powers.first += a.norm_sqr();
            powers.second += b.norm_sqr();
            powers.shared += (a * b.conj()).re;
        }
        powers
    }
}

/// A short raised-cosine fade at both ends.
fn taper(index: usize, count: usize) -> f64 {
    let from_end = index.min(count - 1 - index) as f64 + 0.5;
    let fade = (count as f64 * TAPER).max(1.0);
    0.5 - 0.5 * (PI * (from_end / fade).min(1.0)).cos()
}
