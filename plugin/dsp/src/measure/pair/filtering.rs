//! Filters many rows of samples, four side by side: a recursive filter waits for itself, four do not wait for each other.

use crate::measure::pair::colour::Colour;

/// Rows side by side.
const ABREAST: usize = 4;

/// Scratch for rows up to a length.
pub(crate) struct Filtering {
    rate: f64,
    row: Box<[f32]>,
    abreast: Box<[[f32; ABREAST]]>,
}

impl Filtering {
    pub(crate) fn new(rate: f64, longest: usize) -> Self {
        Self {
            rate,
            row: vec![0.0; longest].into(),
            abreast: vec![[0.0; ABREAST]; longest].into(),
        }
    }

    /// Filters rows of `length` samples: `read` fills each by its number, `write` takes it filtered.
    pub(crate) fn run(
        &mut self,
        colour: Colour,
        rows: usize,
        length: usize,
        mut read: impl FnMut(usize, &mut [f32]),
        mut write: impl FnMut(usize, &[f32]),
    ) {
        let row = &mut self.row[..length];
        let abreast = &mut self.abreast[..length];
        for from in (0..rows).step_by(ABREAST) {
            let group = ABREAST.min(rows - from);
            for k in 0..group {
                read(from + k, row);
                for (out, x) in abreast.iter_mut().zip(&*row) {
                    out[k] = *x;
                }
            }
            colour.apply(self.rate, abreast);
            for k in 0..group {
                for (out, x) in row.iter_mut().zip(&*abreast) {
                    *out = x[k];
                }
                write(from + k, row);
            }
        }
    }
}
