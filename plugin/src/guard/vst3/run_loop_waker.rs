//! The end of the run loop's socket that any thread may write to, to wake the run loop.

use std::io::Write;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::AcqRel};

/// One end of a socket; the run loop watches the other.
pub(super) struct RunLoopWaker {
    socket: UnixStream,
    /// Written to and not read yet: once is enough.
    woken: Arc<AtomicBool>,
}

impl RunLoopWaker {
    /// `woken` is shared with the end that the run loop watches, which clears it.
    pub fn new(socket: UnixStream, woken: Arc<AtomicBool>) -> Self {
        Self { socket, woken }
    }

    /// Wakes the run loop.
    pub fn wake(&self) {
        if !self.woken.swap(true, AcqRel) {
            // A full socket wakes it as well.
            let _ = (&self.socket).write(&[1]);
        }
    }
}
