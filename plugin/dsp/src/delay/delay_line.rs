//! The delay line and its two readers: one that stays at a delay, one that moves every sample.

use crate::delay::fir::{LANES, MAX_TAPS, filter_between, filter_block, total};
use crate::delay::sinc_kernel::{ROWS, ReadKernel, RowTable};
use crate::math::widest::{Arithmetic, Work, run_widest};

/// Below this (-560 dB) a sample is silence: no product of a tap and a sample is ever subnormal.
const SILENCE: f32 = 1e-28;

/// Samples whose partial sums are added up side by side.
const GROUP: usize = 8;

/// Most samples pushed before they are read: what one pass over a block works on.
pub const CHUNK: usize = 64;

/// A sample fit for the line: silence for what is not finite or too small to hear by hundreds of decibels.
#[inline(always)]
pub fn clean(sample: f32) -> f32 {
    if sample.is_finite() && sample.abs() >= SILENCE {
        sample
    } else {
        0.0
    }
}

/// The last samples of one channel. Written twice, half a buffer apart, so that any stretch of it is one slice.
#[derive(Debug)]
pub struct DelayLine {
    samples: Vec<f32>,
    /// Where the next sample goes, below half of the buffer.
    next: usize,
}

impl DelayLine {
    /// Holds at least the last `length` samples.
    pub fn new(length: usize) -> Self {
        Self {
            samples: vec![0.0; 2 * length.max(1)],
            next: 0,
        }
    }

    /// Samples held.
    pub fn length(&self) -> usize {
        self.samples.len() / 2
    }

    /// Silence.
    pub fn reset(&mut self) {
        self.samples.fill(0.0);
        self.next = 0;
    }

    /// Takes samples, no more than the length, oldest first.
    pub fn push(&mut self, input: &[f32]) {
        let length = self.length();
        let (before, after) = input.split_at(input.len().min(length - self.next));
        self.write(before);
        if !after.is_empty() {
            self.next = 0;
            self.write(after);
        }
    }

    fn write(&mut self, input: &[f32]) {
        let length = self.length();
        let (first, second) = self.samples.split_at_mut(length);
        let range = self.next..self.next + input.len();
        let copies = first[range.clone()].iter_mut().zip(&mut second[range]);
        for ((first, second), &sample) in copies.zip(input) {
            *first = clean(sample);
            *second = *first;
        }
        self.next += input.len();
    }

    /// `count` samples in a row, the first of them `age` samples older than the newest. `count` <= `age` + 1 <= length.
    #[inline(always)]
    pub fn span(&self, age: usize, count: usize) -> &[f32] {
        let start = self.next + self.length() - 1 - age;
        &self.samples[start..start + count]
    }
}

/// Reads a line at one delay: a copy at whole samples (bit for bit), the kernel between them.
#[derive(Clone, Debug)]
pub struct FixedReader {
    kernel: ReadKernel,
    /// Whole samples of the delay.
    whole: usize,
    /// `None`: the delay is a whole number of samples.
    row: Option<[f32; MAX_TAPS]>,
}

impl FixedReader {
    /// Reads `delay` samples back; at least half the kernel. The lines it will read must be longer than that by half the
    /// kernel and the block.
    pub fn new(kernel: ReadKernel, delay: f64) -> Self {
        let mut reader = Self {
            kernel,
            whole: kernel.half(),
            row: None,
        };
        reader.set_delay(delay);
        reader
    }

    /// Moves to another delay at once, in samples. Cheap enough for the audio thread: one row of the kernel.
    pub fn set_delay(&mut self, delay: f64) {
        let delay = delay.max(self.kernel.half() as f64);
        self.whole = delay as usize;
        let fraction = delay - self.whole as f64;
        self.row = (fraction > 0.0).then(|| {
            let mut row = [0.0; MAX_TAPS];
            self.kernel.fill_row(fraction, &mut row);
            row
        });
    }

    /// Fills `out` with what stood at the delay while the last `out.len()` samples were pushed.
    pub fn read(&self, line: &DelayLine, out: &mut [f32]) {
        let Some(oldest) = out.len().checked_sub(1) else {
            return;
        };
        let age = self.whole + oldest;
        match &self.row {
            None => out.copy_from_slice(line.span(age, out.len())),
            Some(row) => {
                let taps = self.kernel.taps();
                let span = line.span(age + self.kernel.half(), oldest + taps);
                filter_block(&row[..taps], span, out);
                out.iter_mut().for_each(|y| *y = clean(*y));
            }
        }
    }
}

/// Reads a line at a delay that changes every sample.
#[derive(Clone, Debug)]
pub struct MovingReader {
    kernel: ReadKernel,
    table: &'static RowTable,
}

impl MovingReader {
    /// Looks up the kernel's table; the first one of a process builds it.
    pub fn new(kernel: ReadKernel) -> Self {
        Self {
            kernel,
            table: kernel.table(),
        }
    }

    /// Fills `out[i]` from `delays[i]` samples before the sample that came with it. At whole delays the sample itself.
    /// A delay shorter than half the kernel or longer than the line is taken as far as it goes.
    pub fn read(&self, line: &DelayLine, delays: &[f64], out: &mut [f32]) {
        self.read_older([line], 0, delays, [out]);
    }

    /// As [`read`](Self::read) from lines of one length and state, each of them the same as if it were read alone; so many
    /// samples have been pushed behind those that are read.
    pub fn read_older<const LINES: usize>(
        &self,
        lines: [&DelayLine; LINES],
        newer: usize,
        delays: &[f64],
        mut outs: [&mut [f32]; LINES],
    ) {
        let mut newer = newer + delays.len();
        for (delays, at) in delays.chunks(CHUNK).zip((0..).step_by(CHUNK)) {
            newer -= delays.len();
            let work = MovingRead {
                table: self.table,
                lines,
                newer,
                delays,
                outs: outs.each_mut().map(|out| &mut out[at..at + delays.len()]),
            };
            match self.kernel {
                ReadKernel::LONG => run_widest(LongRead(work)),
                _ => run_widest(ShortRead(work)),
            }
        }
    }
}

impl MovingReader {
    /// The kernel that it reads with.
    pub fn kernel(&self) -> ReadKernel {
        self.kernel
    }

    /// Whole samples of a delay, at least half the kernel, and the row for the rest; `None` at whole samples.
    pub fn row_at(&self, delay: f64) -> (usize, Option<[f32; MAX_TAPS]>) {
        let position = ReadPosition::new(delay.max(self.kernel.half() as f64));
        let (whole, row) = (position.rows as usize / ROWS, position.rows as usize % ROWS);
        let is_whole = row == 0 && position.between == 0.0;
        let row = (!is_whole).then(|| self.table.between(self.kernel, row, position.between));
        (whole, row)
    }
}

/// One chunk of a moving reader's work.
struct MovingRead<'a, const LINES: usize> {
    table: &'static RowTable,
    lines: [&'a DelayLine; LINES],
    /// Samples that came after the chunk.
    newer: usize,
    delays: &'a [f64],
    /// As long as the delays.
    outs: [&'a mut [f32]; LINES],
}

/// Where one sample is read: whole table rows back, and the way to the next row.
#[derive(Clone, Copy, Default)]
struct ReadPosition {
    rows: u32,
    between: f32,
}

impl ReadPosition {
    #[inline(always)]
    fn new(delay: f64) -> Self {
        let exact = delay * ROWS as f64;
        let rows = exact as u32;
        Self {
            rows,
            between: (exact - f64::from(rows)) as f32,
        }
    }
}

impl<const LINES: usize> MovingRead<'_, LINES> {
    #[inline(always)]
    fn run<A: Arithmetic, const SIXTEENS: usize>(self) {
        let count = self.delays.len().min(CHUNK);
        let mut positions = [ReadPosition::default(); CHUNK];
        let half = SIXTEENS * LANES / 2;
        let length = self.lines[0].length();
        let longest = length - self.newer - count - half;
        for (position, &delay) in positions.iter_mut().zip(self.delays) {
            *position = ReadPosition::new(delay.max(half as f64).min(longest as f64));
        }
        let rows = self.table.rows::<SIXTEENS>();
        // Where the first sample's span would start without a delay.
        let start = self.lines[0].next + length - self.newer - count - half;
        let mut outs = self.outs;
        for at in (0..count).step_by(GROUP) {
            let sums: [_; GROUP] = std::array::from_fn(|n| {
                // Behind the end the last sample again.
                let n = (at + n).min(count - 1);
                let position = &positions[n];
                let (whole, row) = (position.rows as usize / ROWS, position.rows as usize % ROWS);
                let pair = rows[row..].first_chunk().expect("a row after the last");
                let spans = self.lines.map(|line| {
                    let span = line.samples[start + n - whole..].as_chunks().0;
                    span.first_chunk().expect("the line is long enough")
                });
                filter_between::<A, SIXTEENS, LINES>(pair, position.between, spans)
            });
            for (line, out) in outs.iter_mut().enumerate() {
                for (out, sums) in out[at..].iter_mut().zip(&sums) {
                    *out = clean(total(&sums[line]));
                }
            }
        }
    }
}

struct LongRead<'a, const LINES: usize>(MovingRead<'a, LINES>);
struct ShortRead<'a, const LINES: usize>(MovingRead<'a, LINES>);

impl<const LINES: usize> Work for LongRead<'_, LINES> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        self.0.run::<A, { ReadKernel::LONG.taps() / LANES }>();
    }
}

impl<const LINES: usize> Work for ShortRead<'_, LINES> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        self.0.run::<A, { ReadKernel::SHORT.taps() / LANES }>();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;

    #[test]
    fn spans_are_in_order_across_the_seam() {
        let mut line = DelayLine::new(5);
        for block in [&[1.0, 2.0, 3.0][..], &[4.0, 5.0, 6.0, 7.0], &[8.0]] {
            line.push(block);
        }
        assert_eq!(line.span(4, 5), [4.0, 5.0, 6.0, 7.0, 8.0]);
        assert_eq!(line.span(2, 2), [6.0, 7.0]);
    }

    #[test]
    fn what_is_no_number_is_silence() {
        let mut line = DelayLine::new(4);
        line.push(&[f32::NAN, f32::NEG_INFINITY, 1e-40, 1.0]);
        assert_eq!(line.span(3, 4), [0.0, 0.0, 0.0, 1.0]);
    }

    #[test]
    fn both_readers_are_exact_at_whole_samples() {
        let kernel = ReadKernel::SHORT;
        let mut line = DelayLine::new(200);
        let input: Vec<f32> = (0..150).map(|i| (i as f32).sin()).collect();
        line.push(&input);
        let (mut fixed, mut moving) = ([0.0; 50], [0.0; 50]);
        FixedReader::new(kernel, 40.0).read(&line, &mut fixed);
        MovingReader::new(kernel).read(&line, &[40.0; 50], &mut moving);
        assert_eq!(fixed, input[60..110]);
        assert_eq!(moving, input[60..110]);
    }

    #[test]
    fn two_lines_together_are_read_as_each_alone() {
        for kernel in [ReadKernel::SHORT, ReadKernel::LONG] {
            let reader = MovingReader::new(kernel);
            let delays: [f64; 100] = std::array::from_fn(|n| 60.0 + 0.037 * n as f64);
            let lines = [1, 2].map(|seed| {
                let mut line = DelayLine::new(400);
                line.push(&noise(333, seed));
                line
            });
            let mut outs = [[0.0; 100]; 2];
            let [a, b] = outs.each_mut();
            reader.read_older([&lines[0], &lines[1]], 5, &delays, [a, b]);
            for (line, out) in lines.iter().zip(outs) {
                let mut alone = [0.0; 100];
                reader.read_older([line], 5, &delays, [&mut alone]);
                assert_eq!(out.map(f32::to_bits), alone.map(f32::to_bits));
            }
        }
    }
}
