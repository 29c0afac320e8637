//! Brings any recording to a working rate between 44.1 and 88.2 kHz: nothing above 9 kHz is used to time a hit.

use std::f64::consts::PI;

use crate::channels::CHANNELS;

/// The lowest working rate that leaves the 9 kHz band untouched by the filter's slope.
const LOWEST_HZ: f64 = 44_100.0;
/// Taps for each step of the decimation: the slope reaches from 11 kHz to the first alias of it at 33 kHz,
/// 0.5 of the working rate, which a Kaiser window of 80 dB spans in (80 - 8) / (2.285 * pi) = 10 taps.
const TAPS_A_STEP: usize = 12;
/// Kaiser's formula for 80 dB: 0.1102 (80 - 8.7).
const KAISER_BETA: f64 = 7.86;

/// A frame of the channels, and one of silence: four numbers that a processor multiplies at once.
type Frame = [f64; CHANNELS + 1];

/// A decimator for all channels at once. Its delay is the same for each and so never part of a gap.
#[derive(Debug)]
pub(crate) struct WorkingRate {
    step: usize,
    taps: Box<[f64]>,
    /// The last frames twice in a row, so that any stretch of the taps' length lies in one piece.
    line: Box<[Frame]>,
    write: usize,
    until_next: usize,
}

impl WorkingRate {
    pub(crate) fn new(sample_rate: f64) -> Self {
        let step = ((sample_rate / LOWEST_HZ).floor() as usize).max(1);
        let length = if step == 1 { 1 } else { TAPS_A_STEP * step };
        Self {
            step,
            taps: low_pass(length, step),
            line: vec![Frame::default(); 2 * length].into(),
            write: 0,
            until_next: step,
        }
    }

    /// Samples of the recording in one sample of the working rate.
    pub(crate) fn step(&self) -> usize {
        self.step
    }

    pub(crate) fn reset(&mut self) {
        self.line.fill(Frame::default());
        self.write = 0;
        self.until_next = self.step;
    }

    /// Takes one frame of the recording; gives one of the working rate every `step` frames.
    pub(crate) fn push(&mut self, frame: [f32; CHANNELS]) -> Option<[f32; CHANNELS]> {
        if self.step == 1 {
            return Some(frame);
        }
        let [first, second, spot] = frame.map(f64::from);
        let length = self.taps.len();
        let frame = [first, second, spot, 0.0];
        self.line[self.write] = frame;
        self.line[self.write + length] = frame;
        self.write += 1;
        if self.write == length {
            self.write = 0;
        }
        self.until_next -= 1;
        if self.until_next > 0 {
            return None;
        }
        self.until_next = self.step;
        Some(self.filtered())
    }

    fn filtered(&self) -> [f32; CHANNELS] {
        let line = &self.line[self.write..self.write + self.taps.len()];
        let mut sum = Frame::default();
        for (frame, tap) in line.iter().zip(&self.taps) {
            for (sum, sample) in sum.iter_mut().zip(frame) {
                *sum += tap * sample;
            }
        }
        [sum[0] as f32, sum[1] as f32, sum[2] as f32]
    }
}

/// A Kaiser-windowed sinc, cut off at half the working rate, unity at 0 Hz.
fn low_pass(length: usize, step: usize) -> Box<[f64]> {
    let centre = (length as f64 - 1.0) / 2.0;
    let tap = |n: usize| {
        let x = n as f64 - centre;
        let r = if length > 1 { x / centre } else { 0.0 };
        sinc(x / step as f64) * bessel_i0(KAISER_BETA * (1.0 - r * r).max(0.0).sqrt())
    };
    let taps: Vec<f64> = (0..length).map(tap).collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|h| h / sum).collect()
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-12 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

/// The modified Bessel function by its power series (Abramowitz & Stegun 9.6.12).
fn bessel_i0(x: f64) -> f64 {
    let mut term = 1.0;
    let mut sum = 1.0;
    for k in 1..40 {
        term *= (x / (2.0 * f64::from(k))).powi(2);
        sum += term;
    }
    sum
}
