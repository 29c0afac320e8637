//! A virtual screen: Xvfb on a free display.

use anyhow::{Context, Result};
use std::io::{BufRead, BufReader, ErrorKind};
use std::process::{Child, Command, Stdio};
use x11rb::rust_connection::RustConnection;

/// What Debian calls Xvfb and all that the editor loads.
pub const PACKAGES: [&str; 8] = [
    "xvfb",
    "libx11-6",
    "libx11-xcb1",
    "libxcb1",
    "libxkbcommon-x11-0",
    "libgl1",
    "libgl1-mesa-dri",
    "libegl1",
];
/// Two editors at their largest fit side by side, pixels and bits.
const SIZE: &str = "3840x2160x24";

/// A display. It ends with this value, and with the process: Xvfb terminates with its last client.
pub struct Screen {
    server: Child,
    display: String,
    guest: Option<RustConnection>,
}

impl Screen {
    /// Starts one; `None` where no Xvfb is installed.
    ///
    /// # Errors
    ///
    /// When Xvfb is there and does not start.
    pub fn start() -> Result<Option<Self>> {
        let server = Command::new("Xvfb")
            .args(["-displayfd", "1", "-screen", "0", SIZE])
            .args(["-nolisten", "tcp", "-terminate"])
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn();
        let mut server = match server {
            Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
            server => server.context("cannot run Xvfb")?,
        };
        let said = server.stdout.take().context("Xvfb has no output")?;
        let mut screen = Self {
            server,
            display: String::new(),
            guest: None,
        };
        let mut number = String::new();
        BufReader::new(said).read_line(&mut number)?;
        let number: u32 = number.trim().parse().context("Xvfb did not start")?;
        screen.display = format!(":{number}");
        let (guest, _) = x11rb::connect(Some(&screen.display)).context("Xvfb lets nobody in")?;
        screen.guest = Some(guest);
        Ok(Some(screen))
    }

    /// What belongs into `DISPLAY`.
    pub fn display(&self) -> &str {
        &self.display
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.server.kill();
        let _ = self.server.wait();
    }
}
