//! Tells whoever looks after the session that there is something new to save.

use std::fmt;
use std::sync::OnceLock;

/// Tellers: the analysis thread; in an offline render, the thread that renders.
#[derive(Default)]
pub struct SessionNews {
    listener: OnceLock<Box<dyn Fn() + Send + Sync>>,
}

impl SessionNews {
    /// Whom to tell, once; on any thread, and without waiting.
    pub fn tell_to(&self, listener: impl Fn() + Send + Sync + 'static) {
        let _ = self.listener.set(Box::new(listener));
    }

    /// There is something new.
    pub fn tell(&self) {
        if let Some(listener) = self.listener.get() {
            listener();
        }
    }
}

impl fmt::Debug for SessionNews {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("SessionNews")
    }
}
