//! `cargo xtask align` as its user meets it, and the measurement behind it on real recordings.
//!
//! Simulated strokes of a known gap for what is written and refused; real strokes and grooves for how well it measures
//! (they need the folder of recordings and say "skipped" without it). Each table has its limits beside it.

use std::ffi::OsStr;
use std::path::Path;
use std::process::Output;

use serde_json::Value;

use crate::command::{json, xtask};

mod grooves;
mod real_strokes;
mod recordings;
mod refused;
mod session;
mod simulated_rooms;
mod strokes;
mod three_microphones;
mod whole_kit;
mod written;

pub use recordings::folder as recordings_folder;
pub use session::load_plugin;

/// Runs `cargo xtask align` with these arguments.
fn align<S: AsRef<OsStr>>(arguments: &[S]) -> Output {
    xtask("align", arguments)
}

/// The answer of `--json` on a pair and a spot with more arguments.
#[track_caller]
fn answer(pair: &Path, spot: &Path, more: &[&str]) -> Value {
    let mut arguments = vec![pair.as_os_str(), "--spot".as_ref(), spot.as_os_str()];
    arguments.push("--json".as_ref());
    arguments.extend(more.iter().map(OsStr::new));
    json(&align(&arguments))
}
