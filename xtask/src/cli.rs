//! The command line: names, options, help and exit codes.

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::align::{self, AlignOptions};
use crate::bundle::{self, BundleOptions};
use crate::demo::{self, DemoOptions};
use crate::failure::Outcome;
use crate::sweep::{self, SweepOptions};
use crate::test::{self, TestOptions};
use crate::tidy::{self, TidyOptions};

/// Commands of the Plumbline project
#[derive(Parser, Debug)]
#[command(
    name = "cargo xtask",
    version,
    after_help = "Exit codes: 0 done, 1 the work failed, 2 bad options or bad input."
)]
struct Line {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Build the plugin as CLAP and VST3 and say where hosts look for them
    Bundle(BundleOptions),
    /// Measure and correct your own files with the plugin
    Align(Box<AlignOptions>),
    /// Play your own file on two decks
    Sweep(Box<SweepOptions>),
    /// See the whole job on a made-up session with a known truth
    Demo(DemoOptions),
    /// Run formatting, clippy, every test, tidy and the checks against outside libraries
    Test(TestOptions),
    /// Check the code map, first lines, left-overs and the top level
    Tidy(TidyOptions),
}

/// Reads the arguments, runs the command, reports a failure on standard error.
pub fn run() -> ExitCode {
    match carry_out(Line::parse().command) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("error: {failure}");
            failure.exit_code()
        }
    }
}

fn carry_out(command: Command) -> Outcome {
    match command {
        Command::Bundle(options) => bundle::run(options),
        Command::Align(options) => align::run(&options),
        Command::Sweep(options) => sweep::run(&options),
        Command::Demo(options) => demo::run(options),
        Command::Test(options) => test::run(options),
        Command::Tidy(options) => tidy::run(options),
    }
}
