//! Systems as Rust calls them, and their standard libraries brought by rustup.

use std::process::Command;

/// The two processors of a Mac.
pub const MAC: [&str; 2] = ["x86_64-apple-darwin", "aarch64-apple-darwin"];
/// Windows as a Linux machine builds for it.
pub const WINDOWS_FROM_LINUX: &str = "x86_64-pc-windows-gnu";
/// Windows with Microsoft's tools, as a machine with Windows builds for itself.
pub const WINDOWS: &str = "x86_64-pc-windows-msvc";

/// Brings the standard libraries of these targets. Where there is no rustup they are there, or cargo says that they are not.
pub fn add(targets: &[&str]) {
    let _ = Command::new("rustup")
        .args(["target", "add"])
        .args(targets)
        .status();
}
