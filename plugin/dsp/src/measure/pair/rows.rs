//! A table of samples, one row a stroke (and channel), allocated once.

/// Rows of one length.
#[derive(Debug)]
pub(crate) struct Rows<T> {
    data: Box<[T]>,
    rows: usize,
    length: usize,
}

impl<T: Copy + Default> Rows<T> {
    pub(crate) fn new(rows: usize, length: usize) -> Self {
        Self {
            data: vec![T::default(); rows * length].into(),
            rows,
            length,
        }
    }

    /// Rows of another length, at most the first: what they hold is lost.
    pub(crate) fn cut_to(&mut self, length: usize) {
        debug_assert!(self.rows * length <= self.data.len());
        self.length = length;
    }

    pub(crate) fn length(&self) -> usize {
        self.length
    }

    pub(crate) fn count(&self) -> usize {
        self.rows
    }

    pub(crate) fn row(&self, row: usize) -> &[T] {
        &self.data[row * self.length..][..self.length]
    }

    pub(crate) fn row_mut(&mut self, row: usize) -> &mut [T] {
        &mut self.data[row * self.length..][..self.length]
    }
}
