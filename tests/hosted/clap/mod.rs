//! A CLAP host that does what hosts are known to do wrong, or rarely do.
//!
//! [`events`] are events as a host hands them over, right ones and wrong ones; the other files are tests by subject: events,
//! parameters and tails in [`traps`], layouts and switched ports in [`ports`], a drum that is picked in `picking`, the window
//! while audio plays, on Linux and on Windows. Called by the random hosts in `fuzz` too.

pub mod events;
#[cfg(target_os = "linux")]
mod picking;
pub mod ports;
#[cfg(target_os = "linux")]
mod scale;
pub mod traps;
#[cfg(windows)]
mod win32_window;
#[cfg(target_os = "linux")]
mod window;
