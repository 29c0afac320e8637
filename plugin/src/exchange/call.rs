//! A call from the audio thread to a thread that sleeps: one atomic store, no system call.

use std::sync::Arc;
use std::sync::atomic::{
    AtomicBool,
    Ordering::{AcqRel, Acquire, Release},
};

/// Some call of this process has been made since this was asked last.
static ANY: AtomicBool = AtomicBool::new(false);

/// Writer: the audio thread. Reader: the analysis thread, and whoever wakes it.
#[derive(Clone, Debug, Default)]
pub struct Call(Arc<AtomicBool>);

impl Call {
    /// Something waits to be looked at. Wait-free.
    pub fn make(&self) {
        self.0.store(true, Release);
        ANY.store(true, Release);
    }

    /// Some call has been made since this was asked last: the others need not be looked at.
    pub fn any_made() -> bool {
        ANY.swap(false, AcqRel)
    }

    /// Something has been waiting and has not been looked at.
    pub fn is_made(&self) -> bool {
        self.0.load(Acquire)
    }

    /// Before it is looked at: what is called from here on counts anew.
    pub fn answer(&self) {
        self.0.swap(false, AcqRel);
    }
}
