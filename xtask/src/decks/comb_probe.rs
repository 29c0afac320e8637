//! A spectrogram of the comb: impulses run through a third instance, and the spectrum of each response is one column.

use std::sync::Arc;

use anyhow::Result;
use plumbline_hosting::Bundle;
use realfft::{RealFftPlanner, RealToComplex};

use super::automation::Automation;
use super::instance::SweepInstance;

/// Most columns of the picture.
const COLUMNS: f64 = 240.0;
/// Least time between two impulses, seconds: both decks' answers lie within 24 ms of where the fixed one's is.
const LEAST_APART_S: f64 = 0.050;
/// How much of the answer is analysed on either side of the fixed deck's, seconds.
const SIDE_S: f64 = 0.024;
/// Lowest and highest frequency of the picture, Hz.
pub const SPAN_HZ: (f64, f64) = (100.0, 16_000.0);
/// Rows of the picture, equal steps of pitch.
pub const ROWS: usize = 88;

/// One column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Seconds of the file.
    pub at_s: f64,
    /// Power of the output against the input in each row, the lowest first; fewer where the file's rate has no more.
    pub powers: Vec<f64>,
}

/// The third instance, with the mix of the automation.
pub struct CombProbe {
    instance: SweepInstance,
    sample_rate: f64,
    /// Samples between two impulses.
    apart: i64,
    /// Samples on either side.
    side: usize,
    fft: Arc<dyn RealToComplex<f32>>,
    audio: [Vec<f32>; 2],
    /// The output, from sample `output_start` of the file on.
    output: Vec<f32>,
    output_start: i64,
    /// Sample of the next impulse whose answer is waited for.
    next: i64,
    columns: Vec<Column>,
}

impl CombProbe {
    /// For a file of `frames`, where that is known.
    pub fn open(
        bundle: &Bundle,
        automation: &Automation,
        sample_rate: f64,
        frames: Option<u64>,
    ) -> Result<Self> {
        let instance = SweepInstance::open(bundle, automation.clone(), sample_rate, 2)?;
        let least = LEAST_APART_S * sample_rate;
        let apart = frames.map_or(least, |frames| least.max(frames as f64 / COLUMNS));
        let side = (SIDE_S * sample_rate) as usize;
        let length = (8 * side).next_power_of_two();
        Ok(Self {
            output_start: instance.at() - instance.latency() as i64,
            instance,
            sample_rate,
            apart: apart as i64,
            side,
            fft: RealFftPlanner::new().plan_fft_forward(length),
            audio: [Vec::new(), Vec::new()],
            output: Vec::new(),
            next: 0,
            columns: Vec::new(),
        })
    }

    /// The next `count` samples.
    pub fn play(&mut self, count: usize) -> Result<()> {
        let at = self.instance.at();
        for channel in &mut self.audio {
            channel.clear();
            channel.extend((at..at + count as i64).map(|sample| {
                let is_impulse = sample >= 0 && sample % self.apart == 0;
                if is_impulse { 1.0 } else { 0.0 }
            }));
        }
        let [first, second] = &mut self.audio;
        self.instance.play(&mut [first, second])?;
        self.output.extend_from_slice(&self.audio[0]);
        self.add_columns()
    }

    /// The columns so far.
    pub fn finish(self) -> Vec<Column> {
        self.columns
    }

    fn add_columns(&mut self) -> Result<()> {
        let side = self.side as i64;
        while self.output_start + self.output.len() as i64 >= self.next + side {
            let from = (self.next - side - self.output_start).max(0) as usize;
            let to = (self.next + side - self.output_start) as usize;
            let powers = self.powers(from, to)?;
            self.columns.push(Column {
                at_s: self.next as f64 / self.sample_rate,
                powers,
            });
            self.output.drain(..to);
            self.output_start += to as i64;
            self.next += self.apart;
        }
        Ok(())
    }

    fn powers(&self, from: usize, to: usize) -> Result<Vec<f64>> {
        let (mut time, mut spectrum) = (self.fft.make_input_vec(), self.fft.make_output_vec());
        time[..to - from].copy_from_slice(&self.output[from..to]);
        self.fft.process(&mut time, &mut spectrum)?;
        let bins: Vec<f64> = spectrum
            .iter()
            .map(|bin| f64::from(bin.norm_sqr()))
            .collect();
        let hz_a_bin = self.sample_rate / time.len() as f64;
        let rows = (0..ROWS).take_while(|row| row_hz(row + 1) < 0.5 * self.sample_rate);
        Ok(rows.map(|row| row_power(&bins, hz_a_bin, row)).collect())
    }
}

/// Mean power of a row: nulls that lie closer than its height grey it evenly.
fn row_power(bins: &[f64], hz_a_bin: f64, row: usize) -> f64 {
    let bin = |row: usize| (row_hz(row) / hz_a_bin).round() as usize;
    let from = bin(row).min(bins.len() - 1);
    let to = bin(row + 1).clamp(from + 1, bins.len());
    bins[from..to].iter().sum::<f64>() / (to - from) as f64
}

/// Lower edge of a row, Hz.
fn row_hz(row: usize) -> f64 {
    let (low, high) = SPAN_HZ;
    low * (high / low).powf(row as f64 / ROWS as f64)
}
