//! The end of the run loop's socket that any thread may ring.

use std::io::Write;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::AcqRel};

/// One end of a socket; the run loop watches the other.
pub(super) struct Bell {
    socket: UnixStream,
    /// Rung and not heard yet: once is enough.
    rung: Arc<AtomicBool>,
}

impl Bell {
    /// `rung` is shared with the end that the run loop watches, which clears it.
    pub fn new(socket: UnixStream, rung: Arc<AtomicBool>) -> Self {
        Self { socket, rung }
    }

    /// Wakes the run loop.
    pub fn ring(&self) {
        if !self.rung.swap(true, AcqRel) {
            // A full socket has been rung already.
            let _ = (&self.socket).write(&[1]);
        }
    }
}
