//! One thread a process that wakes the analysis threads for which something waits, so that the others may sleep.
//!
//! The audio thread must not wake anybody: that is a system call. A hundred idle instances that each looked for
//! themselves would cost a hundred times what this one thread costs.

use crate::exchange::Call;
use std::io;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle, Thread};
use std::time::Duration;

/// How often it looks while there is something to do: half a tenth of a second, the time in which a hand expects an answer.
/// Common practice, no source.
const POLL: Duration = Duration::from_millis(50);

/// Polls without anything to do, one second, after which it rests: it then looks half as often, because to be woken is all
/// that an idle instance costs.
const POLLS_TO_REST: u32 = 20;

/// Polls after which it asks everybody, called or not: a window that has been opened is drawn within a fifth of a second.
/// Two polls, which are one look at rest, go into it.
const POLLS_TO_ALL: u32 = 4;

/// It only reads a list.
const STACK_BYTES: usize = 64 * 1024;

/// A thread that sleeps, and whether something waits for it.
struct Sleeper {
    thread: Thread,
    is_wanted: Box<dyn Fn() -> bool + Send>,
}

/// The sleepers by their number.
type Sleepers = Arc<Mutex<Vec<(u64, Sleeper)>>>;

/// The waking thread while there are sleepers.
struct Waker {
    sleepers: Sleepers,
    stop: Arc<AtomicBool>,
    handle: JoinHandle<()>,
    /// Of the next sleeper.
    number: u64,
}

static WAKER: Mutex<Option<Waker>> = Mutex::new(None);

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Wakes one thread as long as it lives.
#[derive(Debug)]
pub struct Wakening {
    number: u64,
}

/// Wakes `thread` whenever `is_wanted` says so, within 50 ms. Fails when the system has no thread to give. Not for the
/// audio thread.
pub fn wake(thread: Thread, is_wanted: impl Fn() -> bool + Send + 'static) -> io::Result<Wakening> {
    let mut waker = locked(&WAKER);
    let running = match &mut *waker {
        Some(running) => running,
        stopped => stopped.insert(Waker::spawn()?),
    };
    let number = running.number;
    running.number += 1;
    let sleeper = Sleeper {
        thread,
        is_wanted: Box::new(is_wanted),
    };
    locked(&running.sleepers).push((number, sleeper));
    Ok(Wakening { number })
}

impl Drop for Wakening {
    fn drop(&mut self) {
        let mut waker = locked(&WAKER);
        let Some(running) = &*waker else {
            return;
        };
        let mut sleepers = locked(&running.sleepers);
        sleepers.retain(|(number, _)| *number != self.number);
        let last = sleepers.is_empty();
        drop(sleepers);
        if last && let Some(running) = waker.take() {
            running.stop();
        }
    }
}

impl Waker {
    fn spawn() -> io::Result<Self> {
        let (sleepers, stop) = (Sleepers::default(), Arc::new(AtomicBool::new(false)));
        let (list, stopped) = (Arc::clone(&sleepers), Arc::clone(&stop));
        let handle = thread::Builder::new()
            .name("plumbline waker".into())
            .stack_size(STACK_BYTES)
            .spawn(move || run(&list, &stopped))?;
        Ok(Self {
            sleepers,
            stop,
            handle,
            number: 0,
        })
    }

    fn stop(self) {
        self.stop.store(true, Relaxed);
        self.handle.thread().unpark();
        let _ = self.handle.join();
    }
}

fn run(sleepers: &Sleepers, stop: &AtomicBool) {
    // Since nobody was wanted any more.
    let mut polls = 0_u32;
    while !stop.load(Relaxed) {
        let is_asked = Call::any_made() || polls.is_multiple_of(POLLS_TO_ALL);
        if is_asked && wake_wanted(&locked(sleepers)) {
            polls = 0;
            thread::park_timeout(POLL);
        } else {
            let slept = if polls < POLLS_TO_REST { 1 } else { 2 };
            polls = polls.wrapping_add(slept);
            thread::park_timeout(slept * POLL);
        }
    }
}

/// True when somebody was wanted.
fn wake_wanted(sleepers: &[(u64, Sleeper)]) -> bool {
    let wanted = sleepers.iter().filter(|(_, sleeper)| (sleeper.is_wanted)());
    wanted.map(|(_, sleeper)| sleeper.thread.unpark()).count() > 0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A thread that ends when it is called.
    struct Slept {
        call: Call,
        wakening: Wakening,
        thread: JoinHandle<()>,
    }

    fn asleep() -> Slept {
        let call = Call::default();
        let (seen, asked) = (call.clone(), call.clone());
        let sleep = move || {
            while !seen.is_made() {
                thread::park();
            }
        };
        let thread = thread::spawn(sleep);
        let wakening = wake(thread.thread().clone(), move || asked.is_made()).unwrap();
        Slept {
            call,
            wakening,
            thread,
        }
    }

    #[test]
    fn who_is_called_wakes_and_the_others_sleep_whoever_has_gone() {
        // The last one is called when the waker rests.
        let quiet = [2, 2, 2, 2, POLLS_TO_REST + 4];
        let sleepers: Vec<Slept> = quiet.iter().map(|_| asleep()).collect();
        for (slept, polls) in sleepers.into_iter().zip(quiet) {
            thread::sleep(polls * POLL);
            assert!(!slept.thread.is_finished(), "nobody was called");
            slept.call.make();
            slept.thread.join().unwrap();
            drop(slept.wakening);
        }
    }
}
