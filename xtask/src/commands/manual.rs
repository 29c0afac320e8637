//! `cargo xtask manual`: the manual as one HTML file, with figures and sound in it.

use clap::Args;

use crate::failure::Outcome;
use crate::manual::{self, Numbers};

/// Options of `cargo xtask manual`.
#[derive(Args, Clone, Copy, Debug)]
pub struct ManualOptions {
    /// Write the numbers beside the examples into docs/manual.md anew instead of checking them
    #[arg(long)]
    write: bool,
}

/// Renders it and says where it is.
pub fn run(options: ManualOptions) -> Outcome {
    let numbers = match options.write {
        true => Numbers::Write,
        false => Numbers::Check,
    };
    println!("{}", manual::render(numbers)?.display());
    Ok(())
}
