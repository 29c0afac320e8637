//! A triple buffer from one writer to one reader: the newest value wins, nobody waits.

use std::array;
use std::cell::UnsafeCell;
use std::sync::Arc;
use std::sync::atomic::{
    AtomicU8,
    Ordering::{AcqRel, Relaxed},
};

/// Set in `middle` when the value there has not been read yet.
const FRESH: u8 = 4;

/// Three cells: the writer owns one, the reader owns one, the third changes hands through `middle`.
struct Shared<T> {
    cells: [UnsafeCell<T>; 3],
    middle: AtomicU8,
}

// SAFETY: a cell is only touched by the side that owns its index; ownership moves by an acquire-release swap.
unsafe impl<T: Send> Sync for Shared<T> {}

/// The one writer of a triple buffer.
pub struct TripleBufferWriter<T> {
    shared: Arc<Shared<T>>,
    own: u8,
}

/// The one reader of a triple buffer.
pub struct TripleBufferReader<T> {
    shared: Arc<Shared<T>>,
    own: u8,
}

/// A buffer for the newest value of a kind: writing and reading are wait-free and allocate nothing.
pub fn triple_buffer<T: Copy + Default>() -> (TripleBufferWriter<T>, TripleBufferReader<T>) {
    let shared = Arc::new(Shared {
        cells: array::from_fn(|_| UnsafeCell::new(T::default())),
        middle: AtomicU8::new(1),
    });
    let writer = TripleBufferWriter {
        shared: Arc::clone(&shared),
        own: 0,
    };
    (writer, TripleBufferReader { shared, own: 2 })
}

impl<T: Copy> TripleBufferWriter<T> {
    /// Puts a value in place of the one before, read or not.
    pub fn write(&mut self, value: T) {
        // SAFETY: this cell is the writer's until the swap below gives it away.
        unsafe { *self.shared.cells[usize::from(self.own)].get() = value };
        self.own = self.shared.middle.swap(self.own | FRESH, AcqRel) & !FRESH;
    }
}

impl<T: Copy> TripleBufferReader<T> {
    /// The newest value, once.
    pub fn take(&mut self) -> Option<&T> {
        if self.shared.middle.load(Relaxed) & FRESH == 0 {
            return None;
        }
        self.own = self.shared.middle.swap(self.own, AcqRel) & !FRESH;
        // SAFETY: this cell is the reader's until the next `take`, which needs `self` again.
        Some(unsafe { &*self.shared.cells[usize::from(self.own)].get() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_newest_value_wins_and_is_read_once() {
        let (mut writer, mut reader) = triple_buffer::<u64>();
        assert!(reader.take().is_none());
        writer.write(1);
        writer.write(2);
        assert_eq!(reader.take(), Some(&2));
        assert!(reader.take().is_none());
    }

    #[test]
    fn values_read_while_writing_are_whole_and_never_go_back() {
        let (mut writer, mut reader) = triple_buffer::<[u64; 16]>();
        let writing = std::thread::spawn(move || (1..=100_000).for_each(|i| writer.write([i; 16])));
        let mut last = 0;
        while last < 100_000 {
            let Some(value) = reader.take() else { continue };
            assert!(value.iter().all(|&x| x == value[0]), "torn: {value:?}");
            assert!(value[0] > last, "went back from {last} to {}", value[0]);
            last = value[0];
        }
        writing.join().unwrap();
    }
}
