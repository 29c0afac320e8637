//! Whether the window that the host has put ours into is still there, on Linux.
//!
//! A host may destroy its window with ours in it. The toolkit does not notice, and draws on what is no longer there; Mesa's
//! software renderer (22.3) then writes beyond its buffer, into the memory of the host.

use nice_plug::editor::ParentWindowHandle;
use std::sync::atomic::{AtomicU32, Ordering::Relaxed};

/// The host's window, by its number on the display; 0 where there is none or the system has other names.
#[derive(Debug, Default)]
pub struct HostWindowNumber(AtomicU32);

impl HostWindowNumber {
    /// Ours is put into this one.
    #[cfg_attr(
        windows,
        expect(clippy::unnecessary_cast, reason = "C's long is of 32 bits there")
    )]
    pub fn set(&self, parent: &ParentWindowHandle) {
        if let ParentWindowHandle::XlibWindow(number) = parent {
            self.0.store(*number as u32, Relaxed);
        }
    }

    fn get(&self) -> Option<u32> {
        Some(self.0.load(Relaxed)).filter(|&number| number > 0)
    }
}

/// A way to ask.
#[derive(Default)]
pub struct Display(system::Display);

impl Display {
    /// Goes to the display that `DISPLAY` names.
    pub fn open() -> Self {
        Self(system::Display::open())
    }

    /// False when the display says that there is no such window.
    pub fn has(&self, window: &HostWindowNumber) -> bool {
        window.get().is_none_or(|number| self.0.has(number))
    }
}

#[cfg(target_os = "linux")]
mod system {
    use x11rb::protocol::xproto::ConnectionExt;
    use x11rb::rust_connection::RustConnection;

    #[derive(Default)]
    pub struct Display(Option<RustConnection>);

    impl Display {
        pub fn open() -> Self {
            Self(x11rb::connect(None).ok().map(|(connection, _)| connection))
        }

        pub fn has(&self, window: u32) -> bool {
            let asked = self.0.as_ref().map(|display| display.get_geometry(window));
            asked.is_none_or(|asked| asked.is_ok_and(|answer| answer.reply().is_ok()))
        }
    }
}

#[cfg(not(target_os = "linux"))]
mod system {
    #[derive(Default)]
    pub struct Display;

    impl Display {
        pub fn open() -> Self {
            Self
        }

        pub fn has(&self, _window: u32) -> bool {
            true
        }
    }
}
