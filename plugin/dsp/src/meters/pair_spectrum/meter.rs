//! Measures the spectrum of a pair and its spot over the hits.

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use super::{BINS, LOW, PairSpectrum, low_hz, top_hz};

/// Seconds over which a stretch fades in and out: short against the drum, long against the wavefront.
const FADE_S: f64 = 0.0015;

/// Measures stretches of one length. `new` plans and allocates; `measure` does not.
pub struct PairSpectrumMeter {
    sample_rate: f64,
    fade: Box<[f32]>,
    fft: Arc<dyn RealToComplex<f32>>,
    time: Vec<f32>,
    /// Of first, second and spot.
    spectra: [Vec<Complex<f32>>; 3],
    low: [[Complex<f32>; LOW]; 3],
    scratch: Vec<Complex<f32>>,
}

impl PairSpectrumMeter {
    /// For stretches of `length` samples.
    pub fn new(sample_rate: f64, length: usize) -> Self {
        let fft = RealFftPlanner::new().plan_fft_forward(length.next_power_of_two());
        Self {
            sample_rate,
            fade: fade(length, FADE_S * sample_rate),
            time: fft.make_input_vec(),
            spectra: std::array::from_fn(|_| fft.make_output_vec()),
            low: [[Complex::default(); LOW]; 3],
            scratch: fft.make_scratch_vec(),
            fft,
        }
    }

    /// Sums over stretches of first, second and spot; what is shorter is filled up with silence.
    pub fn measure<'a>(&mut self, hits: impl Iterator<Item = [&'a [f32]; 3]>) -> PairSpectrum {
        let bin_hz = self.sample_rate / self.time.len() as f64;
        let top = (top_hz() / bin_hz).ceil() as usize;
        let count = top.min(BINS).min(self.spectra[0].len());
        let mut spectrum = PairSpectrum {
            bin_hz: bin_hz as f32,
            count: count as u32,
            ..PairSpectrum::EMPTY
        };
        for channels in hits {
            for (channel, samples) in channels.into_iter().enumerate() {
                self.transform(channel, samples);
            }
            for (number, bin) in spectrum.bins[..count].iter_mut().enumerate() {
                bin.add(self.spectra.each_ref().map(|spectrum| spectrum[number]));
            }
            for (number, line) in spectrum.low.iter_mut().enumerate() {
                line.add(self.low.map(|lines| lines[number]));
            }
            spectrum.hits += 1;
        }
        spectrum
    }

    fn transform(&mut self, channel: usize, samples: &[f32]) {
        self.time.fill(0.0);
        let faded = samples.iter().zip(&self.fade);
        for (time, (sample, fade)) in self.time.iter_mut().zip(faded) {
            *time = sample * fade;
        }
        for (number, line) in self.low[channel].iter_mut().enumerate() {
            *line = at_frequency(&self.time, low_hz(number) / self.sample_rate);
        }
        self.fft
            .process_with_scratch(
                &mut self.time,
                &mut self.spectra[channel],
                &mut self.scratch,
            )
            .expect("buffers made by the plan itself");
    }
}

/// One line of the Fourier transform; the frequency in turns a sample.
fn at_frequency(samples: &[f32], turns: f64) -> Complex<f32> {
    let step = Complex::from_polar(1.0, -TAU * turns);
    let mut turn = Complex::new(1.0, 0.0);
    let mut sum: Complex<f64> = Complex::default();
    for sample in samples {
        sum += turn * f64::from(*sample);
        turn *= step;
    }
    Complex::new(sum.re as f32, sum.im as f32)
}

/// Raised-cosine ends of `edge` samples.
fn fade(length: usize, edge: f64) -> Box<[f32]> {
    (0..length)
        .map(|n| {
            let from_end = n.min(length - 1 - n) as f64 + 0.5;
            (0.5 - 0.5 * (PI * (from_end / edge).min(1.0)).cos()) as f32
        })
        .collect()
}
