//! Sessions of three channels: noise floors, strokes at chosen places, ideal delays, reversed cables.

use std::f64::consts::TAU;

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::Analyser;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

use crate::measure;
use crate::noise::Noise;
use crate::recordings::Stroke;

/// First, second and spot over one piece of time.
#[derive(Clone)]
pub struct Session {
    pub rate: f64,
    pub channels: [Vec<f32>; 3],
}

impl Session {
    /// Nothing but noise of the given rms.
    pub fn floor(rate: f64, length: usize, rms: f64, noise: &mut Noise) -> Self {
        let mut channel = || {
            noise
                .normals(length)
                .iter()
                .map(|x| (x * rms) as f32)
                .collect()
        };
        Self {
            rate,
            channels: [channel(), channel(), channel()],
        }
    }

    /// Adds a whole stroke, or as much of its first `seconds` as there is room for, faded out over the last fifth.
    pub fn add(&mut self, stroke: &Stroke, at: usize, seconds: f64) {
        let longest = (seconds * self.rate) as usize;
        for (channel, sound) in self.channels.iter_mut().zip(&stroke.channels) {
            let length = sound
                .len()
                .min(longest)
                .min(channel.len().saturating_sub(at));
            for n in 0..length {
                let fade = ((length - n) as f32 / (0.2 * length as f32)).min(1.0);
                channel[at + n] += sound[n] * fade;
            }
        }
    }

    /// Adds a whole stroke at a level.
    pub fn add_scaled(&mut self, stroke: &Stroke, at: usize, gain: f32) {
        for (channel, sound) in self.channels.iter_mut().zip(&stroke.channels) {
            for (out, sound) in channel[at..].iter_mut().zip(sound) {
                *out += gain * sound;
            }
        }
    }

    /// One channel later by any number of samples, ideally: a phase slope over its whole spectrum.
    pub fn delayed(mut self, channel: usize, samples: f64) -> Self {
        self.channels[channel] = delay(&self.channels[channel], samples);
        self
    }

    pub fn scaled(mut self, channel: usize, gain: f32) -> Self {
        self.channels[channel].iter_mut().for_each(|x| *x *= gain);
        self
    }

    /// Heard by an analyser from beginning to end.
    pub fn analysed(&self, inputs: Inputs) -> Analyser {
        let [first, second, spot] = &self.channels;
        measure::analysed([first, second, spot], inputs, self.rate)
    }
}

/// An ideal delay by a phase slope; what leaves at the end comes in at the beginning.
pub fn delay(signal: &[f32], samples: f64) -> Vec<f32> {
    let length = signal.len();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(length);
    let inverse = planner.plan_fft_inverse(length);
    let mut time: Vec<f64> = signal.iter().map(|x| f64::from(*x)).collect();
    let mut spectrum = forward.make_output_vec();
    forward
        .process(&mut time, &mut spectrum)
        .expect("lengths fit");
    for (k, bin) in spectrum.iter_mut().enumerate() {
        *bin *= Complex64::cis(-TAU * samples * k as f64 / length as f64) / length as f64;
    }
    spectrum[0].im = 0.0;
    if length.is_multiple_of(2) {
        spectrum[length / 2].im = 0.0;
    }
    inverse
        .process(&mut spectrum, &mut time)
        .expect("lengths fit");
    time.iter().map(|x| *x as f32).collect()
}
