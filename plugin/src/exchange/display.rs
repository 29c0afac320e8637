//! Whether a window is open, and how a thread asks it to repaint.

/// The open or closed window, as the analysis thread and the audio thread see it.
pub trait Display: Send + Sync {
    /// A window is open: snapshots are wanted.
    fn is_open(&self) -> bool;
    /// There is something new to show. Wait-free.
    fn request_repaint(&self);
}

/// A build without an editor.
#[cfg(not(feature = "editor"))]
pub struct NoDisplay;

#[cfg(not(feature = "editor"))]
impl Display for NoDisplay {
    fn is_open(&self) -> bool {
        false
    }

    fn request_repaint(&self) {}
}
