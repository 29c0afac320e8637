//! Values of some samples in a row: one for all of them while it rests, else one each.

use crate::delay::delay_line::CHUNK;

/// At most `CHUNK` values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Values<T> {
    /// The same for every sample.
    Resting(T),
    /// One each; those behind the chunk's end mean nothing.
    Moving([T; CHUNK]),
}

impl<T: Copy> Values<T> {
    /// Of sample `n`.
    #[inline(always)]
    pub fn at(&self, n: usize) -> T {
        match self {
            Self::Resting(value) => *value,
            Self::Moving(values) => values[n],
        }
    }

    /// One each.
    pub fn spread(&self) -> [T; CHUNK] {
        match self {
            Self::Resting(value) => [*value; CHUNK],
            Self::Moving(values) => *values,
        }
    }

    /// Each turned into another one.
    #[inline(always)]
    pub fn map(self, function: impl Fn(T) -> T) -> Self {
        match self {
            Self::Resting(value) => Self::Resting(function(value)),
            Self::Moving(values) => Self::Moving(values.map(function)),
        }
    }
}
