//! The command line: names, options, help and exit codes.

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use crate::commands::align::{self, AlignOptions};
use crate::commands::bundle::{self, BundleOptions};
use crate::commands::demo::{self, DemoOptions};
use crate::commands::dist::{self, DistOptions};
use crate::commands::figures::{self, FiguresOptions};
use crate::commands::fuzz::{self, FuzzOptions};
use crate::commands::manual::{self, ManualOptions};
#[cfg(target_os = "linux")]
use crate::commands::preview::{self, PreviewOptions};
#[cfg(target_os = "linux")]
use crate::commands::screens::{self, ScreensOptions};
use crate::commands::soak::{self, SoakOptions};
use crate::commands::sweep::{self, SweepOptions};
use crate::commands::test::{self, TestOptions};
use crate::commands::tidy::{self, TidyOptions};
use crate::failure::Outcome;

/// Commands of the Plumbline project
#[derive(Parser, Debug)]
#[command(
    name = "cargo xtask",
    bin_name = "cargo xtask",
    version,
    after_help = "Exit codes: 0 done, 1 the work failed, 2 bad options or bad input."
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand, Debug)]
enum Command {
    /// Build the plugin as CLAP and VST3 and say where hosts look for them
    Bundle(BundleOptions),
    /// Measure and correct your own files with the plugin
    ///
    /// Measures the time between two overheads with the real plugin, says which one to move, and writes the corrected
    /// pair. Reads WAV, AIFF and FLAC of any rate, 16, 24 or 32 bit or float; all files of a take have one rate and one
    /// length. Writes 32-bit float WAV with the plugin's latency taken out, so that the files fall back into the session
    /// at the same place.
    Align(Box<AlignOptions>),
    /// Play your own file on two decks
    Sweep(Box<SweepOptions>),
    /// See the whole job on a made-up session with a known truth
    ///
    /// Builds the plugin, records four bars in a simulated barn where one overhead hangs too far away and its cable is
    /// reversed, measures and corrects the take in the plugin, and shows what was found beside what the tape measure
    /// says. Then the corrected pair goes onto tape, and onto two decks for one pass. Writes target/demo: the session
    /// (overheads.wav, kick.wav), before-*.wav and after-*.wav in stereo and mono, kick-aligned.wav, two-tracks.wav with
    /// the kick in it, six prints tape-*.wav, chorus-pass.wav, and report.html.
    Demo(DemoOptions),
    /// Render the manual as one HTML file, with its sound examples
    ///
    /// Renders every example with the built plugin from the demo's kit, at one loudness, and writes target/manual/manual.html.
    /// Fails where a number beside an example in docs/manual.md is not what its file says; --write renews them.
    Manual(ManualOptions),
    /// Pack an archive for this system: both bundles, manual, licences, checksums, install script
    ///
    /// Writes target/dist: a tar.gz (Windows: a zip) and its SHA-256 sum. On macOS the library is for both processors.
    /// --check unpacks it elsewhere, installs it for a user of its own there, and runs the hosted tests on both bundles.
    /// --windows packs for Windows on Linux; with --check all of that happens in Wine.
    Dist(DistOptions),
    /// Draw the figures of docs/dsp.md from what the measured tests wrote to target/measured
    Figures(FiguresOptions),
    /// Try the window without a host, on the demo session
    ///
    /// Opens the editor of the built plugin on your display. The demo's four bars run round and round through the plugin
    /// with a running song position; nothing is heard. Ends when the window is closed.
    #[cfg(target_os = "linux")]
    Preview(PreviewOptions),
    /// Draw the pictures of the window in docs/figures
    ///
    /// Opens the editor of the built plugin on a screen that nobody sees, feeds the demo session, and writes every page and
    /// state as a PNG. Installs what it needs when you are root, else prints the command to type.
    #[cfg(target_os = "linux")]
    Screens(ScreensOptions),
    /// Run formatting, clippy, every test, tidy and the checks against outside libraries
    ///
    /// Builds the plugin first. Says what failed and how to run it alone; every word of the tests is kept in
    /// target/test.log. Tests on real recordings need PLUMBLINE_RECORDINGS, or ../shared/recordings beside the project,
    /// and are reported as skipped without them.
    /// --other-systems has rustup bring the standard library of each, and compiles without linking.
    Test(TestOptions),
    /// Put the plugin before hosts that misbehave at random
    ///
    /// CLAP and VST3: events and parameters at any time and in any order, blocks of 0 to 65 536 samples, rates of 1 kHz to
    /// 768 kHz, buses that are missing, transports and states that make no sense. Each case comes from a seed; one that
    /// fails is made as small as it gets and printed with the command to run it again.
    Fuzz(FuzzOptions),
    /// Leave a session running for hours of audio
    ///
    /// Strokes are measured, parameters turned, states saved and loaded. Memory, open files, threads and cost must not grow,
    /// and the moving deck must be where a fresh start puts it.
    Soak(SoakOptions),
    /// Check the tree against the rules of the house
    ///
    /// Reads the imports: no circle between files, no arrow between rooms or crates that points up. Then lengths of files
    /// and functions, first lines, entrances of folders, left-overs, the length of DEVELOPERS.md, and the code map in
    /// docs/map.md, which --write renews.
    Tidy(TidyOptions),
}

/// Reads the arguments, runs the command, reports a failure on standard error.
pub fn run() -> ExitCode {
    match carry_out(Arguments::parse().command) {
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
        Command::Manual(options) => manual::run(options),
        Command::Dist(options) => dist::run(options),
        Command::Figures(options) => figures::run(&options),
        #[cfg(target_os = "linux")]
        Command::Preview(options) => preview::run(options),
        #[cfg(target_os = "linux")]
        Command::Screens(options) => screens::run(options),
        Command::Fuzz(options) => fuzz::run(options),
        Command::Soak(options) => soak::run(options),
        Command::Test(options) => test::run(options),
        Command::Tidy(options) => tidy::run(options),
    }
}

// The window's commands are there on Linux alone, and the documents name them.
#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;
    use crate::project::workspace::root;

    /// How a line of a workflow, or one to be typed, runs a command.
    const CALL: &str = "cargo xtask ";

    /// The workflow's steps and the documents' lines to be typed, without their comments.
    fn written(file: &str) -> Vec<String> {
        let text = std::fs::read_to_string(root().join(file)).expect("a file of the project");
        let calls = text.lines().filter_map(|line| {
            let line = line.strip_prefix("    ")?.trim_start();
            let call = line.strip_prefix("- run: ").unwrap_or(line);
            call.starts_with(CALL).then_some(call)
        });
        calls
            .map(|call| call.split(" #").next().unwrap_or(call).trim().to_owned())
            .collect()
    }

    #[test]
    fn every_command_of_the_workflow_and_the_documents_is_understood() {
        for (file, least) in [
            (".github/workflows/dist.yml", 5),
            ("README.md", 8),
            ("docs/manual.md", 6),
        ] {
            let calls = written(file);
            assert!(calls.len() >= least, "{file}: {calls:?}");
            for call in calls {
                let words = call.split_whitespace().skip(1);
                if let Err(error) = Arguments::try_parse_from(words) {
                    panic!("{file}: {call}: {error}");
                }
            }
        }
    }
}
