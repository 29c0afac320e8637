//! Has a shown window look for what it is asked to draw, on Linux.
//!
//! There the toolkit may ask the system for a frame only once the window is shown: the answer to an earlier request goes to
//! nobody, it makes no second one before it has the first one's answer, and the window stays blank for ever. Its own timer looks
//! from the beginning; it is set to [`NEVER`], and this thread looks instead, from the moment that the window is shown.

use super::scene::EditorDisplay;
use crate::exchange::Display;
use nice_plug_egui::baseview::WindowWaker;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// Whether the windows of this system need it.
pub const IS_NEEDED: bool = cfg!(target_os = "linux");
/// How long the toolkit's own timer waits, a year.
pub const NEVER: Duration = Duration::from_secs(365 * 86_400);
/// How often it looks: as often as the toolkit does by itself.
const LOOK: Duration = Duration::from_micros(15_625);
/// Looks after which a repaint that has not come is asked for again: half a second.
const PATIENCE: u32 = 32;
/// It sets a flag and wakes a thread.
const STACK_BYTES: usize = 64 * 1024;

/// The thread; it ends when this is dropped.
pub struct Pacer {
    stop: Arc<AtomicBool>,
    handle: Option<JoinHandle<()>>,
}

impl Pacer {
    /// For a window that is shown.
    pub fn start(window: WindowWaker, display: Arc<EditorDisplay>) -> io::Result<Self> {
        display.request_repaint();
        let stop = Arc::<AtomicBool>::default();
        let stopped = Arc::clone(&stop);
        let handle = thread::Builder::new()
            .name("plumbline pacer".into())
            .stack_size(STACK_BYTES)
            .spawn(move || run(&window, &display, &stopped))?;
        let handle = Some(handle);
        Ok(Self { stop, handle })
    }
}

impl Drop for Pacer {
    fn drop(&mut self) {
        self.stop.store(true, Relaxed);
        if let Some(handle) = self.handle.take() {
            handle.thread().unpark();
            let _ = handle.join();
        }
    }
}

fn run(window: &WindowWaker, display: &EditorDisplay, stop: &AtomicBool) {
    let mut watch = Watch::default();
    while !stop.load(Relaxed) {
        let asked = display.asked.swap(false, Relaxed);
        match watch.look(asked, display.frames.load(Relaxed)) {
            true => window.request_redraw(),
            false => window.request_poll(),
        }
        thread::park_timeout(LOOK);
    }
}

/// Whether what was asked for has been drawn: the toolkit drops a frame whose time is not after the last one's.
#[derive(Default)]
struct Watch {
    /// Frames begun when it was asked for, and looks since then.
    waiting: Option<(u32, u32)>,
}

impl Watch {
    /// One look, with the number of frames that have been begun; true when one is to be asked for again.
    fn look(&mut self, asked: bool, frames: u32) -> bool {
        self.waiting = match self.waiting {
            Some((before, looks)) if before == frames => Some((before, looks + 1)),
            _ => asked.then_some((frames, 0)),
        };
        let Some((_, looks)) = &mut self.waiting else {
            return false;
        };
        let is_late = *looks >= PATIENCE;
        if is_late {
            *looks = 0;
        }
        is_late
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Looks until it asks again, at most three times its patience.
    fn asks_after(watch: &mut Watch, frames: u32) -> Option<u32> {
        (1..=3 * PATIENCE).find(|_| watch.look(false, frames))
    }

    #[test]
    fn what_was_asked_for_is_asked_for_again_until_it_is_drawn() {
        let mut watch = Watch::default();
        assert_eq!(asks_after(&mut watch, 0), None, "nobody asked");
        assert!(!watch.look(true, 0));
        assert_eq!(asks_after(&mut watch, 0), Some(PATIENCE), "not drawn");
        assert_eq!(asks_after(&mut watch, 0), Some(PATIENCE), "still not");
        assert_eq!(asks_after(&mut watch, 1), None, "drawn");
        assert!(!watch.look(true, 1));
        assert_eq!(asks_after(&mut watch, 2), None, "drawn at once");
        assert!(!watch.look(true, u32::MAX));
        assert_eq!(asks_after(&mut watch, 0), None, "the count begins anew");
    }

    #[test]
    fn meters_that_ask_at_every_look_do_not_put_off_the_second_request() {
        let mut watch = Watch::default();
        assert!(!watch.look(true, 7));
        let second = (1..=3 * PATIENCE).find(|_| watch.look(true, 7));
        assert_eq!(second, Some(PATIENCE));
        // Drawn and asked for within one look: the wait begins anew.
        assert!(!watch.look(true, 8));
        assert_eq!(asks_after(&mut watch, 8), Some(PATIENCE));
    }
}
