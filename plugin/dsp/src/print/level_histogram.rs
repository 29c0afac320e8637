//! How loud a take is, as a count of peaks by level, and from it how much of the take a print would distort.

use super::settings::PrintSettings;
use super::third_harmonic::{LINES, peak_dbfs_of};
use crate::units::decibels;

/// Peaks below this are silence and count as nothing, dBFS.
const LOWEST_DB: f64 = -80.0;
/// Width of a cell, dB.
const CELL_DB: f64 = 0.25;
/// Cells: up to 20 dB over full scale.
const CELLS: usize = 400;
/// Length of a stretch of which the peak is counted, seconds: a drum's attack is a few of them.
pub const STRETCH_S: f64 = 0.001;

/// Counts of peaks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelHistogram {
    cells: [u32; CELLS],
}

impl Default for LevelHistogram {
    fn default() -> Self {
        Self { cells: [0; CELLS] }
    }
}

impl LevelHistogram {
    /// Nothing counted.
    pub fn new() -> Self {
        Self::default()
    }

    /// Of a take, its stretches one after the other.
    pub fn of(samples: &[f32], sample_rate: f64) -> Self {
        let mut histogram = Self::new();
        let stretch = (STRETCH_S * sample_rate).round().max(1.0) as usize;
        for samples in samples.chunks(stretch) {
            histogram.push(samples.iter().fold(0.0, |peak, x| x.abs().max(peak)));
        }
        histogram
    }

    /// Counts the peak of one stretch.
    pub fn push(&mut self, peak: f32) {
        let cell = (decibels(f64::from(peak)) - LOWEST_DB) / CELL_DB;
        if cell >= 0.0 {
            let cell = &mut self.cells[(cell as usize).min(CELLS - 1)];
            *cell = cell.saturating_add(1);
        }
    }

    /// Peaks that are counted.
    pub fn counted(&self) -> u64 {
        self.cells.iter().map(|&n| u64::from(n)).sum()
    }

    /// Forgets one of every two peaks of a level.
    pub fn halve(&mut self) {
        self.cells.iter_mut().for_each(|cell| *cell /= 2);
    }

    /// Share, 0 to 1, of what is counted that lies above a level, dBFS; 0 when nothing is counted.
    pub fn share_above(&self, dbfs: f64) -> f64 {
        let first = ((dbfs - LOWEST_DB) / CELL_DB)
            .ceil()
            .clamp(0.0, CELLS as f64) as usize;
        let count = |cells: &[u32]| cells.iter().map(|&n| u64::from(n)).sum::<u64>() as f64;
        count(&self.cells[first..]) / count(&self.cells).max(1.0)
    }

    /// Share of the take above each of the lines of third harmonic, 0.3, 1 and 3 %, printed with these settings: a
    /// stretch counts as a 1 kHz sine of its peak would.
    pub fn shares(&self, settings: &PrintSettings) -> [f64; LINES.len()] {
        LINES.map(|third| self.share_above(peak_dbfs_of(settings, third)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_a_staircase() {
        // 100 stretches, a decibel apart, down from full scale.
        let mut histogram = LevelHistogram::new();
        for n in 0..60 {
            histogram.push(10f64.powf(-(f64::from(n) + 0.1) / 20.0) as f32);
        }
        assert!((histogram.share_above(-30.0) - 0.5).abs() < 1e-9);
        assert_eq!(histogram.share_above(-90.0), 1.0);
        assert_eq!(histogram.share_above(30.0), 0.0);
        let shares = histogram.shares(&PrintSettings::default());
        assert!(shares[0] > shares[1] && shares[1] > shares[2] && shares[2] > 0.0);
        assert_eq!(LevelHistogram::new().share_above(-90.0), 0.0);
    }
}
