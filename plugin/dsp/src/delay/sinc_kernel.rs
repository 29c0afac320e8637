//! The windowed-sinc kernel that reads between samples: J. O. Smith, "Digital Audio Resampling"; Kaiser 1974.

use std::sync::OnceLock;

use crate::delay::fir::{LANES, MAX_TAPS, Taps};
use crate::math::kaiser::{bessel_i0_of_squares, kaiser_beta};

/// Rows of the table between two samples, read with a straight line between rows: the line's own error is
/// (ω / rows)² / 8, -132 dB at 20 kHz and 44.1 kHz.
pub const ROWS: usize = 2048;

/// A tap below this is nothing (-180 dB) and would only make subnormal products.
const SMALLEST_TAP: f64 = 1e-9;

/// A Kaiser-windowed sinc of an even number of taps. Reading at a whole sample is exact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadKernel {
    /// Even.
    taps: usize,
    /// Kaiser's window parameter.
    beta: f64,
}

impl ReadKernel {
    /// Error -119 dB up to 0.4535 of the rate: 20 kHz at 44.1 kHz.
    pub const LONG: Self = Self {
        taps: 96,
        beta: kaiser_beta(124.4),
    };

    /// Error -135 dB up to 0.4167 of the rate: 20 kHz at 48 kHz, 40 kHz at 96 kHz.
    pub const SHORT: Self = Self {
        taps: 64,
        beta: kaiser_beta(140.3),
    };

    /// The kernel that reads 20 kHz to better than -115 dB at this rate; about a millisecond or less.
    pub fn for_rate(sample_rate: f64) -> Self {
        if sample_rate < 48_000.0 {
            Self::LONG
        } else {
            Self::SHORT
        }
    }

    /// Samples read for one output sample.
    pub const fn taps(&self) -> usize {
        self.taps
    }

    /// Samples it looks ahead, and so its latency: half the taps.
    pub fn half(&self) -> usize {
        self.taps / 2
    }

    /// Fills `row` (as long as the taps, oldest sample first) to read `fraction` (0 to 1) of a sample before the
    /// sample at index `half`. Fractions 0 and 1 give an exact unit impulse; every row passes a constant unchanged.
    pub fn fill_row(&self, fraction: f64, row: &mut [f32]) {
        let whole = match fraction {
            0.0 => Some(self.half()),
            1.0 => Some(self.half() - 1),
            _ => None,
        };
        if let Some(whole) = whole {
            row.fill(0.0);
            row[whole] = 1.0;
            return;
        }
        let mut exact = [0.0f64; MAX_TAPS];
        let exact = &mut exact[..self.taps];
        self.fill_windowed_sinc(fraction, exact);
        let sum: f64 = exact.iter().sum();
        for (out, tap) in row.iter_mut().zip(exact) {
            *out = audible_tap(*tap / sum);
        }
    }

    /// Taps of any common scale for a fraction between 0 and 1.
    fn fill_windowed_sinc(&self, fraction: f64, taps: &mut [f64]) {
        let half = self.half() as f64;
        let distance = |m: usize| half - m as f64 - fraction;
        for (m, tap) in taps.iter_mut().enumerate() {
            let x = distance(m) / half;
            *tap = self.beta * self.beta * (1.0 - x * x).max(0.0);
        }
        bessel_i0_of_squares(taps);
        // sin π(n - f) is sin πf times 1 or -1 in turn: only the scale of all.
        for (m, tap) in taps.iter_mut().enumerate() {
            let side = if m % 2 == 0 { 1.0 } else { -1.0 };
            *tap *= side / distance(m);
        }
    }

    /// The table of rows for readers that move, built once a process.
    pub fn table(&self) -> &'static RowTable {
        static LONG: OnceLock<RowTable> = OnceLock::new();
        static SHORT: OnceLock<RowTable> = OnceLock::new();
        let table = if self.taps == Self::LONG.taps {
            &LONG
        } else {
            &SHORT
        };
        table.get_or_init(|| RowTable::new(*self))
    }
}

/// Kernel rows at even steps between two samples, each row on whole cache lines.
#[derive(Debug)]
pub struct RowTable {
    taps: Vec<Taps>,
}

impl RowTable {
    fn new(kernel: ReadKernel) -> Self {
        let mut row = vec![0.0; kernel.taps()];
        let mut taps = Vec::with_capacity((ROWS + 1) * row.len() / LANES);
        for index in 0..=ROWS {
            kernel.fill_row(index as f64 / ROWS as f64, &mut row);
            taps.extend(row.as_chunks().0.iter().map(|sixteen| Taps(*sixteen)));
        }
        Self { taps }
    }

    /// The rows, one more than `ROWS`. `SIXTEENS` times 16 are the kernel's taps.
    #[inline(always)]
    pub fn rows<const SIXTEENS: usize>(&self) -> &[[Taps; SIXTEENS]] {
        self.taps.as_chunks().0
    }
}

impl RowTable {
    /// The row at a part of the way from one row of a kernel's table to the next.
    pub fn between(&self, kernel: ReadKernel, row: usize, part: f32) -> [f32; MAX_TAPS] {
        let sixteens = kernel.taps() / LANES;
        let taps = |row: usize| {
            self.taps[row * sixteens..(row + 1) * sixteens]
                .iter()
                .flat_map(|taps| taps.0)
        };
        let mut out = [0.0; MAX_TAPS];
        for (out, (low, high)) in out.iter_mut().zip(taps(row).zip(taps(row + 1))) {
            *out = low + part * (high - low);
        }
        out
    }
}

fn audible_tap(tap: f64) -> f32 {
    if tap.abs() < SMALLEST_TAP {
        0.0
    } else {
        tap as f32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_samples_are_exact() {
        for kernel in [ReadKernel::LONG, ReadKernel::SHORT] {
            for (fraction, at) in [(0.0, kernel.half()), (1.0, kernel.half() - 1)] {
                let mut row = [0.5; MAX_TAPS];
                let row = &mut row[..kernel.taps()];
                kernel.fill_row(fraction, row);
                let unit = (0..row.len()).map(|m| if m == at { 1.0 } else { 0.0 });
                assert!(row.iter().copied().eq(unit), "{kernel:?} at {fraction}");
            }
        }
    }

    #[test]
    fn mirror_fractions_have_mirror_rows() {
        let (mut row, mut mirror) = ([0.0; 64], [0.0; 64]);
        ReadKernel::SHORT.fill_row(0.3, &mut row);
        ReadKernel::SHORT.fill_row(0.7, &mut mirror);
        mirror.reverse();
        for (a, b) in row.iter().zip(&mirror) {
            assert!((a - b).abs() < 1e-8);
        }
    }
}
