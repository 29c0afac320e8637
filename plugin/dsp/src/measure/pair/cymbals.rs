//! Predicts each stroke's cymbal at each moment from its power above 7 kHz, where the drum hardly is.

use crate::channels::CHANNELS;
use crate::measure::hit::filters::{BandPass, Edges, smooth_one};
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::Window;
use crate::measure::pair::rows::Rows;
use crate::measure::pair::stack::middle_of;
use crate::measure::pair::timing::{MOST_FIT, Timing};

/// Where cymbals are and drums hardly.
const CYMBALS_HZ: Edges = Edges {
    low_hz: 7_000.0,
    high_hz: 15_000.0,
};
/// Powers are smoothed over this long.
const SMOOTH_S: f64 = 0.0009;
/// Samples from one kept power to the next: a fifth of the smoothing.
pub(crate) const COARSE: usize = 8;
/// What the quiet quarter of strokes has is the drum's own.
const QUIET: usize = 4;
/// Part of the mean that every moment has.
const LEAST: f32 = 0.05;

/// Powers of a fit's strokes.
pub(crate) struct Cymbals {
    rate: f64,
    powers: Rows<f32>,
    squares: Box<[f32]>,
    smoothed: Box<[f32]>,
    scratch: Box<[f32]>,
}

/// A stretch of each stroke: from so many samples after its own time on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub channel: usize,
    pub from: f64,
    pub length: usize,
}

impl Cymbals {
    pub(crate) fn new(window: &Window) -> Self {
        let row = || vec![0.0; window.kept()].into();
        Self {
            rate: window.rate,
            powers: Rows::new(MOST_FIT * CHANNELS, window.kept() / COARSE),
            squares: row(),
            smoothed: row(),
            scratch: row(),
        }
    }

    /// Is the recording's band wide enough to hear them alone?
    pub(crate) fn heard(&self) -> bool {
        0.45 * self.rate > 1.3 * CYMBALS_HZ.low_hz
    }

    pub(crate) fn read(&mut self, strokes: &[&Stroke]) {
        let width = ((SMOOTH_S * self.rate * 0.45) as usize).max(1);
        let filter = BandPass::new(CYMBALS_HZ, self.rate);
        for (n, stroke) in strokes.iter().enumerate() {
            for (channel, audio) in stroke.audio.iter().enumerate() {
                self.squares.copy_from_slice(audio);
                filter.run(&mut self.squares);
                filter.run(&mut self.squares);
                self.squares.iter_mut().for_each(|x| *x *= *x);
                smooth_one(&self.squares, width, &mut self.scratch, &mut self.smoothed);
                let row = self.powers.row_mut(n * CHANNELS + channel);
                let middle = self.smoothed.iter().skip(COARSE / 2).step_by(COARSE);
                for (out, power) in row.iter_mut().zip(middle) {
                    *out = *power;
                }
            }
        }
    }

    /// Fills the rows of `out` from `first` on, every `stride`th, with what each stroke has beyond the quiet quarter.
    pub(crate) fn predict(
        &self,
        timing: &Timing,
        stretch: Stretch,
        out: &mut Rows<f32>,
        (first, stride): (usize, usize),
    ) {
        let points = stretch.length.div_ceil(COARSE);
        let mut sum = 0.0;
        for point in 0..points {
            let mut values = [0.0f32; MOST_FIT];
            let mut own = [0.0f32; MOST_FIT];
            for (n, (value, own)) in values
                .iter_mut()
                .zip(&mut own)
                .enumerate()
                .take(timing.count)
            {
                let at = (timing.at[n] + stretch.from) / COARSE as f64 + point as f64;
                let row = self.powers.row(n * CHANNELS + stretch.channel);
                *value = row[(at.max(0.0) as usize).min(row.len() - 1)];
                *own = *value / timing.gain[n].powi(2);
            }
            let quiet = quietest(&mut own[..timing.count]);
            for (n, value) in values.iter().enumerate().take(timing.count) {
                let power = (value - timing.gain[n].powi(2) * quiet).max(0.0);
                out.row_mut(first + n * stride)[point] = power;
                sum += power;
            }
        }
        let least = LEAST * sum / (points * timing.count) as f32 + 1e-20;
        for n in 0..timing.count {
            let row = out.row_mut(first + n * stride);
            row[..points].iter_mut().for_each(|power| *power += least);
        }
    }
}

fn quietest(values: &mut [f32]) -> f32 {
    let quarter = values.len() / QUIET;
    if quarter == 0 {
        return middle_of(values);
    }
    *values.select_nth_unstable_by(quarter, f32::total_cmp).1
}
