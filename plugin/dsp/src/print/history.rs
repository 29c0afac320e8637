//! The newest samples of a stream with the few before them that a filter still needs, as one slice.

use crate::delay::fir::{MAX_TAPS, filter_block};

/// Most samples worked on at once at the lowest rate.
pub const FRAME: usize = 64;

/// Past samples and the block after them.
#[derive(Clone, Debug)]
pub struct History {
    samples: Vec<f32>,
    /// How many samples before the block are kept.
    past: usize,
    /// Length of the block that was taken last.
    newest: usize,
}

impl History {
    /// Keeps `past` samples before blocks of at most `longest`.
    pub fn new(past: usize, longest: usize) -> Self {
        Self {
            samples: vec![0.0; past + longest],
            past,
            newest: 0,
        }
    }

    /// Silence.
    pub fn reset(&mut self) {
        self.samples.fill(0.0);
        self.newest = 0;
    }

    /// Takes a block; returns the past before it and the block.
    pub fn extend(&mut self, block: &[f32]) -> &[f32] {
        self.next(block.len()).copy_from_slice(block);
        self.span()
    }

    /// The next block of `count` samples, to be written.
    pub fn next(&mut self, count: usize) -> &mut [f32] {
        let (past, newest) = (self.past, self.newest);
        self.samples.copy_within(newest..newest + past, 0);
        self.newest = count;
        self.block()
    }

    /// The newest block, to be worked on.
    pub fn block(&mut self) -> &mut [f32] {
        &mut self.samples[self.past..self.past + self.newest]
    }

    /// The past before the newest block and the block.
    pub fn span(&self) -> &[f32] {
        &self.samples[..self.past + self.newest]
    }
}

/// `out[i]` = the sum of `taps[m]` times `span[i + m]`, for any number of taps and at most [`FRAME`] outputs.
pub fn filter(taps: &[f32], span: &[f32], out: &mut [f32]) {
    let count = out.len();
    let (first, rest) = taps.split_at(taps.len().min(MAX_TAPS));
    filter_block(first, &span[..count + first.len() - 1], out);
    for (part, start) in rest.chunks(MAX_TAPS).zip((MAX_TAPS..).step_by(MAX_TAPS)) {
        let mut sums = [0.0; FRAME];
        let sums = &mut sums[..count];
        filter_block(part, &span[start..start + count + part.len() - 1], sums);
        for (out, sum) in out.iter_mut().zip(sums) {
            *out += *sum;
        }
    }
}
