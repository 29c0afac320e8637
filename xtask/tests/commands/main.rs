//! The commands as their user meets them: real recordings, every file format, and everything that can be wrong.

mod align;
mod command;
mod demo;
mod files;
mod formats;
#[cfg(target_os = "linux")]
mod preview;
mod sweep;
