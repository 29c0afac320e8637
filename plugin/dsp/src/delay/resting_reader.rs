//! Reads a line at a delay that may move and mostly rests: while it rests, a block through one kernel row.
//!
//! Whether a sample rests is decided by its delay and the one before it alone, so that any split of a block gives the same
//! bits.

use crate::delay::delay_line::{CHUNK, DelayLine, MovingReader, clean};
use crate::delay::fir::{MAX_TAPS, filter_block};

/// A moving reader that notices when it stands still. One for each line; lines that are read at the same delays may share the
/// way.
#[derive(Clone, Debug)]
pub struct RestingReader {
    moving: MovingReader,
    /// Delay of the last sample, samples; not a number at the start.
    last: f64,
    /// The delay that `whole` and `row` are for.
    row_of: f64,
    /// Whole samples of it.
    whole: usize,
    /// `None`: it is a whole number of samples.
    row: Option<[f32; MAX_TAPS]>,
}

impl RestingReader {
    /// Nothing has been read yet.
    pub fn new(moving: MovingReader) -> Self {
        Self {
            moving,
            last: f64::NAN,
            row_of: f64::NAN,
            whole: 0,
            row: None,
        }
    }

    /// What comes next does not continue what came before.
    pub fn reset(&mut self) {
        self.last = f64::NAN;
    }

    /// Goes past samples that nobody hears, the last of them at this delay.
    pub fn pass(&mut self, last: f64) {
        self.last = last;
    }

    /// It has come to the same delay as another, so that it may read the other's line with its own.
    pub fn stands_with(&self, other: &Self) -> bool {
        self.last == other.last
    }

    /// As [`read`](Self::read), where all delays are this one.
    pub fn read_at<const LINES: usize>(
        &mut self,
        lines: [&DelayLine; LINES],
        delay: f64,
        outs: [&mut [f32]; LINES],
    ) {
        let count = outs[0].len();
        match delay == self.last {
            true => self.read_at_rest(lines, 0, outs),
            false => self.read(lines, &[delay; CHUNK][..count], outs),
        }
    }

    /// Fills `outs[line][i]` from `delays[i]` samples before the sample that came with it, as [`MovingReader::read`] does.
    /// The lines are of one length and state.
    pub fn read<const LINES: usize>(
        &mut self,
        lines: [&DelayLine; LINES],
        delays: &[f64],
        mut outs: [&mut [f32]; LINES],
    ) {
        let count = delays.len();
        let mut at = 0;
        while at < count {
            let resting = delays[at..].iter().take_while(|d| **d == self.last);
            let resting = resting.count();
            if resting > 0 {
                let part = at..at + resting;
                let outs = outs.each_mut().map(|out| &mut out[part.clone()]);
                self.read_at_rest(lines, count - part.end, outs);
                at = part.end;
                continue;
            }
            let pairs = delays[at..].windows(2);
            let end = at + 1 + pairs.take_while(|pair| pair[0] != pair[1]).count();
            let outs = outs.each_mut().map(|out| &mut out[at..end]);
            self.moving
                .read_older(lines, count - end, &delays[at..end], outs);
            self.last = delays[end - 1];
            at = end;
        }
    }

    /// At the last delay, so many samples before the newest.
    fn read_at_rest<const LINES: usize>(
        &mut self,
        lines: [&DelayLine; LINES],
        newer: usize,
        outs: [&mut [f32]; LINES],
    ) {
        if self.row_of != self.last {
            self.row_of = self.last;
            (self.whole, self.row) = self.moving.row_at(self.last);
        }
        let kernel = self.moving.kernel();
        for (line, out) in lines.into_iter().zip(outs) {
            let age = self.whole + newer + out.len() - 1;
            match &self.row {
                None => out.copy_from_slice(line.span(age, out.len())),
                Some(row) => {
                    let span = line.span(age + kernel.half(), out.len() - 1 + kernel.taps());
                    filter_block(&row[..kernel.taps()], span, out);
                    out.iter_mut().for_each(|sample| *sample = clean(*sample));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::delay::sinc_kernel::ReadKernel;
    use crate::math::noise::noise;

    /// Delays that rest, move, and rest again.
    fn delays() -> Vec<f64> {
        let way = |n: usize| match n {
            0..200 => 100.25,
            200..400 => 100.25 + 0.01 * (n - 200) as f64,
            400..420 => 102.0,
            _ => 102.0 + ((n / 7) as f64) * 0.003,
        };
        (0..900).map(way).collect()
    }

    /// Read in pieces of these lengths.
    fn read(reader: &mut RestingReader, mut length: impl FnMut() -> usize) -> Vec<f32> {
        let (input, delays) = (noise(900, 1), delays());
        let mut line = DelayLine::new(400);
        let mut out = vec![0.0; 900];
        let mut at = 0;
        while at < 900 {
            let end = 900.min(at + length());
            line.push(&input[at..end]);
            reader.read([&line], &delays[at..end], [&mut out[at..end]]);
            at = end;
        }
        out
    }

    #[test]
    fn it_reads_what_a_moving_reader_reads() {
        // One row instead of two: another rounding, -120 dB.
        let mut reader = RestingReader::new(MovingReader::new(ReadKernel::SHORT));
        let out = read(&mut reader, || 64);
        let (input, delays) = (noise(900, 1), delays());
        let mut line = DelayLine::new(400);
        for (at, want) in out.iter().enumerate() {
            line.push(&input[at..=at]);
            let mut one = [0.0];
            MovingReader::new(ReadKernel::SHORT).read(&line, &delays[at..=at], &mut one);
            assert!((one[0] - want).abs() < 1e-6, "{at}: {} {want}", one[0]);
        }
    }

    #[test]
    fn any_split_gives_the_same_bits() {
        let new = || RestingReader::new(MovingReader::new(ReadKernel::SHORT));
        let whole = read(&mut new(), || 64);
        let mut random = fastrand::Rng::with_seed(5);
        assert!(read(&mut new(), || 1) == whole);
        assert!(read(&mut new(), || 7) == whole);
        assert!(read(&mut new(), || random.usize(1..=64)) == whole);
    }
}
