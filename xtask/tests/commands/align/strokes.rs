//! A simulated take: eight strokes of one drum in a spot and two overheads, with a known gap.

use std::path::PathBuf;

use plumbline_hosting::noise;

use crate::files::{Folder, RATE};

/// Samples from the spot to the first overhead.
pub const TO_FIRST: usize = 190;
/// Samples from the first overhead to the second: 13 cm.
pub const GAP: usize = 18;

/// Samples of a stroke: 200 ms.
const STROKE: usize = 9_600;
/// Highest sample of the noise in each channel: -100 dB.
const FLOOR: f32 = 1e-5;

/// Eight strokes half a second apart, the second overhead later and softer, with a floor of noise.
pub struct Strokes {
    /// The close microphone.
    pub spot: Vec<f32>,
    /// First overhead.
    pub first: Vec<f32>,
    /// Second overhead.
    pub second: Vec<f32>,
}

impl Strokes {
    /// The same strokes every time.
    pub fn new() -> Self {
        let mut dry = vec![0.0f32; 4 * RATE as usize + RATE as usize / 2];
        for stroke in 0..8 {
            let start = (0.3 + 0.5 * stroke as f64) * f64::from(RATE);
            add_stroke(&mut dry[start as usize..], stroke);
        }
        Self {
            spot: microphone(&dry, 0, 1.0, 101),
            first: microphone(&dry, TO_FIRST, 0.5, 102),
            second: microphone(&dry, TO_FIRST + GAP, 0.45, 103),
        }
    }

    /// The pair and the spot as files.
    pub fn store(&self, folder: &Folder) -> [PathBuf; 2] {
        [
            folder.wav("pair.wav", RATE, &[&self.first, &self.second]),
            folder.wav("snare.wav", RATE, &[&self.spot]),
        ]
    }
}

/// A 190 Hz shell and snare wires of noise, a tenth of a millisecond's rise.
fn add_stroke(channel: &mut [f32], seed: u64) {
    let wires = noise(STROKE, seed);
    for (n, (sample, wires)) in channel.iter_mut().zip(wires).enumerate() {
        let t = n as f32 / RATE as f32;
        let rise = 1.0 - (-t / 0.0001).exp();
        let shell = (std::f32::consts::TAU * 190.0 * t).sin();
        *sample += rise * (0.5 * wires * (-t / 0.03).exp() + 0.25 * shell * (-t / 0.06).exp());
    }
}

/// The drum `delay` samples later at this level, with a floor of noise.
fn microphone(dry: &[f32], delay: usize, level: f32, seed: u64) -> Vec<f32> {
    let delayed = std::iter::repeat_n(&0.0, delay).chain(dry);
    let floor = noise(dry.len(), seed);
    let samples = delayed.zip(floor);
    samples
        .map(|(sample, floor)| level * sample + 2.0 * FLOOR * floor)
        .collect()
}
