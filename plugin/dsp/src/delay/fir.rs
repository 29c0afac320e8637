//! The two inner loops of the core: a block of samples through one kernel row, and one sample through two rows.
//!
//! Every output is summed in an order that depends on the kernel alone, so that any split of a block gives the same
//! bits.

use crate::math::widest::{Arithmetic, Work, run_widest};

/// Outputs worked on at once: with two sums each they fill eight 256-bit registers.
const TILE: usize = 32;
/// Longest kernel row.
pub const MAX_TAPS: usize = 96;
/// Sums that run side by side in one dot product: two 256-bit registers a row.
pub const LANES: usize = 16;
/// Partial sums handed out: one 256-bit register. Adding them up in a loop of its own keeps both loops wide.
pub const PARTS: usize = 8;

/// `out[i]` = the sum of `row[m]` times `span[i + m]`. `span` has `out.len() + row.len() - 1` samples.
pub fn filter_block(row: &[f32], span: &[f32], out: &mut [f32]) {
    run_widest(Block { row, span, out });
}

struct Block<'a> {
    row: &'a [f32],
    span: &'a [f32],
    out: &'a mut [f32],
}

impl Work for Block<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let (pairs, last) = self.row.as_chunks::<2>();
        let (tiles, rest) = self.out.as_chunks_mut::<TILE>();
        let whole = tiles.len() * TILE;
        for (tile, start) in tiles.iter_mut().zip((0..).step_by(TILE)) {
            *tile = filter_tile::<A>(pairs, &self.span[start..]);
        }
        if !rest.is_empty() {
            // A tile costs no more than its first few samples one by one.
            let mut padded = [0.0; TILE + MAX_TAPS - 1];
            let span = &self.span[whole..];
            padded[..span.len()].copy_from_slice(span);
            rest.copy_from_slice(&filter_tile::<A>(pairs, &padded)[..rest.len()]);
        }
        // The last of an odd number of taps is added in a pass of its own: beside the pairs it would push their sums out of
        // the registers, which costs ten times the time.
        if let &[last] = last {
            for (sum, &sample) in self.out.iter_mut().zip(&self.span[self.row.len() - 1..]) {
                *sum = A::add(*sum, last, sample);
            }
        }
    }
}

/// Even and odd taps are summed apart, so that a short tile too has as many sums in flight as the processor takes. `pairs`
/// are all taps but the last one of an odd number.
#[inline(always)]
fn filter_tile<A: Arithmetic>(pairs: &[[f32; 2]], span: &[f32]) -> [f32; TILE] {
    let (mut even, mut odd) = ([0.0f32; TILE], [0.0f32; TILE]);
    for (&[first, second], start) in pairs.iter().zip((0..).step_by(2)) {
        let window = &span[start..start + TILE + 1];
        for (sum, &sample) in even.iter_mut().zip(window) {
            *sum = A::add(*sum, first, sample);
        }
        for (sum, &sample) in odd.iter_mut().zip(&window[1..]) {
            *sum = A::add(*sum, second, sample);
        }
    }
    std::array::from_fn(|n| even[n] + odd[n])
}

/// Taps of a kernel row side by side, on a cache line of their own.
#[derive(Clone, Copy, Debug, Default)]
#[repr(align(64))]
pub struct Taps(pub [f32; LANES]);

/// Each span through two neighbouring rows, `between` (0 to 1) of the way from the first to the second, as partial sums:
/// [`total`] adds them up. `SIXTEENS` times 16 taps. A span's sums do not depend on the other spans: together they only
/// share the way of the rows into the registers.
#[inline(always)]
pub fn filter_between<A: Arithmetic, const SIXTEENS: usize, const SPANS: usize>(
    rows: &[[Taps; SIXTEENS]; 2],
    between: f32,
    spans: [&[[f32; LANES]; SIXTEENS]; SPANS],
) -> [[f32; PARTS]; SPANS] {
    let (mut low, mut high) = ([[0.0f32; LANES]; SPANS], [[0.0f32; LANES]; SPANS]);
    for index in 0..SIXTEENS {
        let (before, after) = (&rows[0][index].0, &rows[1][index].0);
        for (n, span) in spans.iter().enumerate() {
            let samples = &span[index];
            for lane in 0..LANES {
                low[n][lane] = A::add(low[n][lane], before[lane], samples[lane]);
                high[n][lane] = A::add(high[n][lane], after[lane], samples[lane]);
            }
        }
    }
    std::array::from_fn(|n| {
        std::array::from_fn(|part| {
            let low = low[n][part] + low[n][part + PARTS];
            let high = high[n][part] + high[n][part + PARTS];
            A::add(low, between, high - low)
        })
    })
}

/// The sum of all parts.
#[inline(always)]
pub fn total(parts: &[f32; PARTS]) -> f32 {
    let four: [f32; 4] = std::array::from_fn(|lane| parts[lane] + parts[lane + 4]);
    (four[0] + four[2]) + (four[1] + four[3])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;
    use crate::math::widest::Portable;

    #[test]
    fn a_block_equals_its_samples_one_by_one() {
        let row = noise(64, 1);
        let span = noise(63 + 203, 2);
        let mut whole = vec![0.0; 203];
        filter_block(&row, &span, &mut whole);
        for (i, want) in whole.iter().enumerate() {
            let mut one = [0.0];
            filter_block(&row, &span[i..i + 64], &mut one);
            assert_eq!(one[0].to_bits(), want.to_bits(), "output {i}");
            let slow: f64 = (0..64)
                .map(|m| f64::from(row[m]) * f64::from(span[i + m]))
                .sum();
            assert!((slow - f64::from(*want)).abs() < 1e-6);
        }
    }

    #[test]
    fn between_two_rows() {
        let (all, span) = (noise(192, 3), noise(96, 4));
        let taps: Vec<Taps> = all.as_chunks().0.iter().map(|taps| Taps(*taps)).collect();
        let rows: &[[Taps; 6]; 2] = taps.as_chunks().0.try_into().unwrap();
        let dot = |row: &[f32]| -> f32 { row.iter().zip(&span).map(|(a, b)| a * b).sum() };
        let want = 0.75 * dot(&all[..96]) + 0.25 * dot(&all[96..]);
        let span: &[[f32; LANES]; 6] = span.as_chunks().0.try_into().unwrap();
        let [got] = filter_between::<Portable, 6, 1>(rows, 0.25, [span]);
        let got = total(&got);
        assert!((got - want).abs() < 1e-5);
    }

    /// Odd and even numbers of taps, blocks shorter and longer than a tile, against the sum one by one.
    #[test]
    fn every_tap_counts() {
        for taps in [1, 2, 31, 64] {
            for length in [1, 31, 32, 33, 100] {
                let row: Vec<f32> = (0..taps).map(|n| 1.0 + n as f32).collect();
                let span: Vec<f32> = (0..length + taps - 1).map(|n| (n % 7) as f32).collect();
                let mut out = vec![0.0; length];
                filter_block(&row, &span, &mut out);
                for (n, out) in out.iter().enumerate() {
                    let pairs = row.iter().zip(&span[n..]);
                    let wanted: f32 = pairs.map(|(tap, x)| tap * x).sum();
                    assert_eq!(*out, wanted, "{taps} taps, {length} samples, sample {n}");
                }
            }
        }
    }
}
