//! Cutting the same stretch around every hit out of a pair that streams by.

use std::collections::VecDeque;

/// Seconds before the hit that a stretch begins: the first wavefront keeps its rise.
const LEAD_S: f64 = 0.002;
/// Seconds from the hit to the end of a stretch: 10 ms to the overheads and 60 ms of the drum's body.
const TAIL_S: f64 = 0.070;

/// Hands out a stretch of both channels for each hit, in order, as soon as it has all gone by.
pub struct HitWindows {
    /// First frame of each stretch still to come, rising.
    starts: VecDeque<u64>,
    /// Frames of one stretch.
    length: usize,
    /// Both channels from frame `buffer_start` on.
    buffer: [Vec<f32>; 2],
    /// Frame number of the first kept sample.
    buffer_start: u64,
}

impl HitWindows {
    /// Stretches around hits at these seconds.
    pub fn new(sample_rate: f64, hits_s: &[f64]) -> Self {
        let mut hits_s = hits_s.to_vec();
        hits_s.sort_by(f64::total_cmp);
        let starts = hits_s
            .iter()
            .map(|at_s| ((at_s - LEAD_S) * sample_rate).round().max(0.0) as u64)
            .collect();
        Self {
            starts,
            length: ((LEAD_S + TAIL_S) * sample_rate).round() as usize,
            buffer: [Vec::new(), Vec::new()],
            buffer_start: 0,
        }
    }

    /// Frames of one stretch.
    pub fn length(&self) -> usize {
        self.length
    }

    /// Takes the next block and calls `each` for every stretch it completes.
    pub fn push(&mut self, pair: [&[f32]; 2], mut each: impl FnMut(&[f32], &[f32])) {
        for (buffer, block) in self.buffer.iter_mut().zip(pair) {
            buffer.extend_from_slice(block);
        }
        while let Some(stretch) = self.next_whole() {
            each(&self.buffer[0][stretch.clone()], &self.buffer[1][stretch]);
            self.starts.pop_front();
        }
        self.drop_used();
    }

    fn next_whole(&self) -> Option<std::ops::Range<usize>> {
        let start = (*self.starts.front()? - self.buffer_start) as usize;
        (start + self.length <= self.buffer[0].len()).then_some(start..start + self.length)
    }

    /// Drops what no stretch to come needs.
    fn drop_used(&mut self) {
        let end = self.buffer_start + self.buffer[0].len() as u64;
        let keep_from = self
            .starts
            .front()
            .map_or(end, |start| (*start).clamp(self.buffer_start, end));
        let drop = (keep_from - self.buffer_start) as usize;
        self.buffer
            .iter_mut()
            .for_each(|buffer| drop_front(buffer, drop));
        self.buffer_start = keep_from;
    }
}

fn drop_front(samples: &mut Vec<f32>, count: usize) {
    samples.drain(..count);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_the_same_for_any_block_length() {
        let ramp: Vec<f32> = (0..20_000).map(|n| n as f32).collect();
        for block in [1, 7, 480, 4096] {
            let mut windows = HitWindows::new(1000.0, &[0.5, 0.52, 9.0, 19.99]);
            let mut firsts = Vec::new();
            for piece in ramp.chunks(block) {
                windows.push([piece, piece], |first, second| {
                    assert_eq!((first.len(), first), (72, second), "block {block}");
                    firsts.push(first[0]);
                });
            }
            assert_eq!(
                firsts,
                [498.0, 518.0, 8998.0],
                "block {block}; the last hit is cut off by the end"
            );
        }
    }
}
