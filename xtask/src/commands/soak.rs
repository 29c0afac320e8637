//! `cargo xtask soak`: a session that is left running for hours, with or without the sound's pace.

use anyhow::{Context, anyhow};
use clap::{Args, ValueEnum};

use crate::failure::Outcome;
use crate::project::workspace;

/// Options of `cargo xtask soak`.
#[derive(Args, Clone, Copy, Debug)]
pub struct SoakOptions {
    /// How much audio
    #[arg(long, default_value_t = 1.0)]
    hours: f64,
    /// How fast it is played
    #[arg(long, value_enum, default_value_t = Pace::None)]
    pace: Pace,
}

/// How fast the audio is played.
#[derive(ValueEnum, Clone, Copy, Debug, PartialEq, Eq)]
enum Pace {
    /// As fast as the machine can
    None,
    /// As fast as it sounds
    RealTime,
}

/// Runs it; growth of memory, open files and threads, drift of the deck and, without pace, growth of cost are failures.
pub fn run(options: SoakOptions) -> Outcome {
    let minutes = (options.hours * 60.0).round().max(1.0) as u64;
    let pace = match options.pace {
        Pace::None => "none",
        Pace::RealTime => "real-time",
    };
    let status = workspace::cargo()
        .args(["test", "--package", "plumbline-hosting", "--test", "hosted"])
        .args(["soak::", "--", "--nocapture"])
        .env("PLUMBLINE_SOAK_MINUTES", minutes.to_string())
        .env("PLUMBLINE_SOAK_PACE", pace)
        .status()
        .context("cannot run cargo")?;
    match status.success() {
        true => Ok(()),
        false => Err(anyhow!("something has grown or drifted: it is printed above").into()),
    }
}
