//! A value that a block and an activation never touch at once, even when the host calls both at once.

use std::cell::UnsafeCell;
use std::sync::atomic::{AtomicBool, Ordering::Acquire, Ordering::Release};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long an activation waits for a block to end: many times the longest block there is.
const PATIENCE: Duration = Duration::from_secs(1);

/// A block takes the value or goes without; an activation waits for it.
pub struct Exclusive<T> {
    taken: AtomicBool,
    value: UnsafeCell<T>,
}

// SAFETY: whoever has set `taken` is alone with the value until it is released.
unsafe impl<T: Send> Sync for Exclusive<T> {}

impl<T> Exclusive<T> {
    pub const fn new(value: T) -> Self {
        Self {
            taken: AtomicBool::new(false),
            value: UnsafeCell::new(value),
        }
    }

    /// Works with the value, unless somebody else does. Wait-free but for the work.
    pub fn with<R>(&self, work: impl FnOnce(&mut T) -> R) -> Option<R> {
        if self.taken.swap(true, Acquire) {
            return None;
        }
        // SAFETY: nobody else has it.
        let result = work(unsafe { &mut *self.value.get() });
        self.taken.store(false, Release);
        Some(result)
    }

    /// Works with the value as soon as it is free; not at all when that takes too long. Never on the audio thread.
    pub fn wait<R>(&self, mut work: impl FnMut(&mut T) -> R) -> Option<R> {
        let begin = Instant::now();
        loop {
            if let Some(result) = self.with(&mut work) {
                return Some(result);
            }
            if begin.elapsed() > PATIENCE {
                return None;
            }
            sleep(Duration::from_millis(1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_comes_while_it_is_taken_goes_without() {
        let value = Exclusive::new(1);
        let inner = value.with(|outer| {
            *outer = 2;
            value.with(|inner| *inner)
        });
        assert_eq!(inner, Some(None));
        assert_eq!(value.wait(|value| *value), Some(2));
    }

    #[test]
    fn an_activation_waits_for_the_block_and_nothing_is_lost() {
        let value = Exclusive::new(0_u32);
        std::thread::scope(|scope| {
            let block = scope.spawn(|| {
                (0..10_000)
                    .filter(|_| value.with(|n| *n += 1).is_some())
                    .count()
            });
            let mut waited = 0;
            while !block.is_finished() {
                value.wait(|n| *n += 1).unwrap();
                waited += 1;
            }
            let blocks = block.join().unwrap() as u32;
            assert_eq!(value.wait(|n| *n), Some(blocks + waited));
        });
    }
}
