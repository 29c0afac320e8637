//! `cargo xtask fuzz`: hosts of both formats that misbehave at random, for as long as is wanted.

use anyhow::{Context, anyhow};
use clap::Args;

use crate::failure::Outcome;
use crate::project::workspace;

/// Options of `cargo xtask fuzz`.
#[derive(Args, Clone, Copy, Debug)]
pub struct FuzzOptions {
    /// How long, half of it for each format
    #[arg(long, default_value_t = 2)]
    minutes: u32,
    /// The first case; the cases after it follow in order
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

/// Runs the cases; a failure is printed as a small case.
pub fn run(options: FuzzOptions) -> Outcome {
    let seconds = u64::from(options.minutes) * 30;
    let status = workspace::cargo()
        .args(["test", "--package", "plumbline-hosting", "--test", "hosted"])
        .args(["fuzz::", "--", "--nocapture", "--test-threads", "1"])
        .env("PLUMBLINE_FUZZ_SECONDS", seconds.to_string())
        .env("PLUMBLINE_FUZZ_SEED", options.seed.to_string())
        .status()
        .context("cannot run cargo")?;
    match status.success() {
        true => Ok(()),
        false => Err(anyhow!("a case failed: it is printed above").into()),
    }
}
