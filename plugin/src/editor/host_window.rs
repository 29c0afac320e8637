//! The toolkit's window as the host owns it: it can be dropped at any time, and then nothing of it runs any more.
//!
//! On Linux a window has a thread of its own. The toolkit asks it to end, but waits for it only where it happens to answer
//! one more request before: mostly it did not. A thread that is left over draws, tells a host that may have gone, and gives the
//! graphics back while the process ends, which then crashes. And one that is asked to end before it has begun to listen forgets
//! that, so that the toolkit waits for ever.

use nice_plug_egui::baseview;
use std::cell::Cell;
use std::convert::Infallible;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::Duration;

/// Whether the windows of this system have threads of their own.
const HAS_THREAD: bool = cfg!(target_os = "linux");
/// How long the host is held up at most. A large picture that is being drawn takes a part of it.
const PATIENCE: Duration = Duration::from_secs(2);

/// An open window.
pub struct HostWindow {
    /// There until it is closed.
    toolkit: Option<baseview::Window>,
    /// Dropped after the window.
    _end: ThreadEnd,
}

impl HostWindow {
    /// A window that has not been shown, and the end of its thread.
    pub fn new(toolkit: baseview::Window, end: ThreadEnd) -> Self {
        if HAS_THREAD {
            // Hidden it is already: the answer says that its thread listens.
            let _ = toolkit.hide();
        }
        Self {
            toolkit: Some(toolkit),
            _end: end,
        }
    }

    /// The toolkit's own.
    pub fn toolkit(&self) -> &baseview::Window {
        self.toolkit.as_ref().expect("it is not closed yet")
    }

    /// As the toolkit counts it.
    pub fn size(&self) -> baseview::WindowSize {
        self.toolkit().size()
    }

    /// Blocks until it is closed.
    pub fn run_until_closed(mut self) -> Result<(), baseview::Error> {
        self.toolkit
            .take()
            .map_or(Ok(()), baseview::Window::run_until_closed)
    }
}

impl Drop for HostWindow {
    /// The toolkit hands on the panic of a window's thread, which a host must not hear.
    fn drop(&mut self) {
        let toolkit = self.toolkit.take();
        let _ = catch_unwind(AssertUnwindSafe(|| drop(toolkit)));
    }
}

/// Waits, when it is dropped, until what came with it has been.
pub struct ThreadEnd(Receiver<Infallible>);

impl Drop for ThreadEnd {
    fn drop(&mut self) {
        let _ = self.0.recv_timeout(PATIENCE);
    }
}

/// What a window's thread keeps until it ends.
pub struct ThreadMark {
    /// Nothing is ever sent: that it goes is what the other end hears.
    _sender: Sender<Infallible>,
}

impl ThreadMark {
    /// One for a window that is about to be opened.
    pub fn new() -> (Self, ThreadEnd) {
        let (mark, end) = channel();
        (Self { _sender: mark }, ThreadEnd(end))
    }

    /// Keeps it until the calling thread ends, if that is the window's own.
    pub fn keep(self) {
        thread_local! {
            static KEPT: Cell<Option<ThreadMark>> = const { Cell::new(None) };
        }
        if HAS_THREAD {
            KEPT.set(Some(self));
        }
    }
}
