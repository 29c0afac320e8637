//! The levels of a take while it runs past: peaks of short stretches, the newest ones counting most.

use super::level_histogram::{LevelHistogram, STRETCH_S};
use crate::units::sane_rate;

/// Peaks that are counted at most, two minutes of sound; with the next, one of every two is forgotten.
const MOST: u64 = 120_000;

/// Counts the peaks of all channels together.
#[derive(Clone, Debug)]
pub struct TakeLevels {
    histogram: LevelHistogram,
    /// Of the stretch that runs.
    peak: f32,
    /// Samples that the stretch still lacks.
    left: usize,
    /// Samples of a stretch.
    stretch: usize,
    /// Peaks counted since half of them were forgotten.
    counted: u64,
}

impl TakeLevels {
    /// Nothing counted.
    pub fn new(sample_rate: f64) -> Self {
        let stretch = (STRETCH_S * sane_rate(sample_rate)).round().max(1.0) as usize;
        Self {
            histogram: LevelHistogram::new(),
            peak: 0.0,
            left: stretch,
            stretch,
            counted: 0,
        }
    }

    /// Nothing counted.
    pub fn reset(&mut self) {
        self.histogram = LevelHistogram::new();
        self.end_stretch();
        self.counted = 0;
    }

    /// Counts the next samples of every channel, all of one length.
    pub fn push(&mut self, channels: &[&mut [f32]]) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut start = 0;
        while start < length {
            let count = self.left.min(length - start);
            for channel in channels {
                self.peak = highest(self.peak, &channel[start..start + count]);
            }
            self.left -= count;
            start += count;
            if self.left == 0 {
                self.count();
            }
        }
    }

    /// What has been counted.
    pub fn histogram(&self) -> &LevelHistogram {
        &self.histogram
    }

    fn count(&mut self) {
        self.histogram.push(self.peak);
        self.end_stretch();
        self.counted += 1;
        if self.counted >= MOST {
            self.histogram.halve();
            self.counted = MOST / 2;
        }
    }

    fn end_stretch(&mut self) {
        self.peak = 0.0;
        self.left = self.stretch;
    }
}

/// The highest of a peak and of the samples' sizes, in lanes of its own so that they are compared side by side.
fn highest(peak: f32, samples: &[f32]) -> f32 {
    const LANES: usize = 8;
    let greater = |a: f32, b: f32| if b > a { b } else { a };
    let mut lanes = [peak; LANES];
    let (chunks, rest) = samples.as_chunks::<LANES>();
    for chunk in chunks {
        for (lane, x) in lanes.iter_mut().zip(chunk) {
            *lane = greater(*lane, x.abs());
        }
    }
    let rest = rest.iter().map(|x| x.abs());
    lanes.into_iter().chain(rest).fold(peak, greater)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_blocks_count_what_the_whole_take_counts() {
        let sample = |n: usize| ((n * n) % 977) as f32 / 977.0 - 0.5;
        let take: Vec<f32> = (0..48_000).map(sample).collect();
        let whole = LevelHistogram::of(&take, 48_000.0);
        for block in [1, 7, 64, 1000] {
            let mut levels = TakeLevels::new(48_000.0);
            let (mut first, mut second) = (take.clone(), vec![0.0; take.len()]);
            for (first, second) in first.chunks_mut(block).zip(second.chunks_mut(block)) {
                levels.push(&[second, first]);
            }
            assert_eq!(levels.histogram(), &whole, "blocks of {block}");
        }
    }

    #[test]
    fn what_was_long_ago_counts_less_and_less() {
        let mut levels = TakeLevels::new(8_000.0);
        levels.push(&[&mut vec![1.0; 8 * 60_000]]);
        assert_eq!(levels.histogram().share_above(-1.0), 1.0);
        let mut shares = Vec::new();
        for _ in 0..4 {
            levels.push(&[&mut vec![0.01; 8 * 120_000]]);
            shares.push(levels.histogram().share_above(-1.0));
            assert!(levels.histogram().counted() <= MOST);
        }
        assert!(shares.is_sorted_by(|a, b| a > b), "{shares:?}");
        levels.reset();
        assert_eq!(levels.histogram().counted(), 0);
    }
}
