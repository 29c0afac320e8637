//! The commands as child processes: real recordings, every file format, and every refusal.

mod align;
mod command;
mod demo;
mod files;
mod formats;
#[cfg(target_os = "linux")]
mod preview;
mod sweep;
mod tape;
