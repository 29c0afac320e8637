//! `cargo xtask sweep` as its user meets it: null points on their bar, prints against the closed form, refusals.
//!
//! The files are noise of a known seed; each test runs the command as a child process and reads what it wrote and
//! answered. `files` and `command` beside this folder have what all commands' tests share.

use std::ffi::OsString;
use std::path::Path;
use std::process::Output;

use serde_json::Value;

use crate::command::{json, xtask};
use crate::files::{Folder, read};

mod course;
mod print;
mod refused;

/// Float samples, one vector a channel.
type Audio = Vec<Vec<f32>>;

/// White noise at half scale, each channel its own.
fn noise(channels: usize, frames: usize) -> Audio {
    (0..channels as u64)
        .map(|channel| plumbline_hosting::noise(frames, 11 + channel))
        .collect()
}

/// Runs `cargo xtask sweep` from one file to another.
fn sweep(input: &Path, out: &Path, more: &str) -> Output {
    let mut arguments: Vec<OsString> = vec![input.into(), "--out".into(), out.into()];
    arguments.extend(more.split_whitespace().map(OsString::from));
    xtask("sweep", &arguments)
}

/// Its answer and its print, where it must succeed.
#[track_caller]
fn swept(folder: &Folder, input: &Path, more: &str) -> (Value, Audio) {
    let out = folder.path("out.wav");
    let output = sweep(input, &out, &format!("{more} --json --force"));
    (json(&output), read(&out))
}

/// The null points, samples of the file.
fn nulls(answer: &Value) -> Vec<f64> {
    let points = answer["null_points"].as_array().expect("null points");
    let sample = |point: &Value| point["sample"].as_f64().expect("a sample");
    points.iter().map(sample).collect()
}
