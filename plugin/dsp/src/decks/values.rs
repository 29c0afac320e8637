//! Values of some samples in a row: one for all of them while it rests, else one each.
//!
//! They are written in place: to move them costs as much as to work them out.

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

    /// One each, to be changed in place.
    pub fn each(&mut self) -> &mut [T; CHUNK] {
        if let Self::Resting(value) = *self {
            *self = Self::Moving([value; CHUNK]);
        }
        let Self::Moving(values) = self else {
            unreachable!("they have just been spread");
        };
        values
    }

    /// Each turned into another one, in place.
    #[inline(always)]
    pub fn change(&mut self, function: impl Fn(T) -> T) {
        match self {
            Self::Resting(value) => *value = function(*value),
            Self::Moving(values) => values
                .iter_mut()
                .for_each(|value| *value = function(*value)),
        }
    }
}
