//! `cargo xtask test`: formatting, clippy, every test, tidy; says what failed and how to run it alone.
//!
//! Runs every check to its end whatever fails before, and reports failures, skipped tests and the command that runs each
//! alone. `report` reads cargo's output, `reference` runs the outside checks. The one command that uses another: `tidy`.

mod reference;
mod report;

use std::fs;
use std::io::{BufRead, BufReader, IsTerminal, Write};
use std::process::Command;
use std::time::Duration;

use anyhow::{Context, anyhow};
use clap::Args;
use indicatif::ProgressBar;

use crate::commands::tidy;
use crate::failure::Outcome;
#[cfg(target_os = "linux")]
use crate::project::packages;
use crate::project::plugin;
use crate::project::targets;
use crate::project::workspace::{Metadata, cargo, root};
use reference::Depth;
use report::{Failed, Report};

/// Options of `cargo xtask test`.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct TestOptions {
    /// Every case of the outside checks, not a few of each
    #[arg(long)]
    full: bool,
    /// With --full: write what the outside checks measured to docs/evidence.md
    #[arg(long, requires = "full")]
    evidence: bool,
    /// Only the outside checks
    #[arg(long)]
    reference: bool,
    /// Only the self-test of the outside checks: they must notice a disturbed plugin
    #[arg(long, conflicts_with_all = ["full", "reference"])]
    sabotage: bool,
    /// Only clippy for macOS (both processors) and for Windows (both tool chains), which needs no linker of theirs
    #[arg(long, conflicts_with_all = ["full", "reference", "sabotage"])]
    other_systems: bool,
}

impl TestOptions {
    /// Audio of the session that is left running.
    fn soak_minutes(self) -> &'static str {
        match self.full {
            true => "10",
            false => "1",
        }
    }

    /// How often the memory is looked at while windows open and close, 50 openings of each format each time.
    fn window_looks(self) -> &'static str {
        match self.full {
            true => "40",
            false => "4",
        }
    }

    fn depth(self) -> Depth {
        match self {
            Self { sabotage: true, .. } => Depth::Sabotage,
            Self { evidence: true, .. } => Depth::Evidence,
            Self { full: true, .. } => Depth::Full,
            _ => Depth::Quick,
        }
    }
}

/// Runs everything, always to the end.
pub fn run(options: TestOptions) -> Outcome {
    let metadata = Metadata::read()?;
    let mut report = Report::new(metadata.targets());
    if options.other_systems {
        other_systems(&mut report)?;
        return close(&report);
    }
    if !options.reference && !options.sabotage {
        own(&mut report, &metadata, options)?;
    }
    step("outside checks");
    if let Err(error) = reference::run(&mut report, options.depth()) {
        report.fail(
            "outside checks",
            "cargo xtask test --reference",
            &error.to_string(),
        );
    }
    close(&report)
}

/// Formatting, clippy, our own tests, tidy.
fn own(report: &mut Report, metadata: &Metadata, options: TestOptions) -> Outcome {
    component("fmt", "rustfmt")?;
    component("clippy", "clippy")?;
    check(
        report,
        "formatting",
        "cargo fmt --all",
        cargo().args(["fmt", "--all", "--check"]),
    )?;
    clippy(report, "")?;
    step("building the plugin");
    match plugin::built_clap() {
        Ok(_) => report.passed += 1,
        Err(error) => report.fail("plugin build", "cargo xtask bundle", &error.to_string()),
    }
    tests(report, metadata, options)?;
    tidied(report)
}

/// Everything that compiles here must compile for the systems that this is not: the plugin, the hosted tests, the commands.
fn other_systems(report: &mut Report) -> Outcome {
    component("clippy", "clippy")?;
    let windows = [targets::WINDOWS_FROM_LINUX, targets::WINDOWS];
    for target in targets::MAC.into_iter().chain(windows) {
        targets::add(&[target]);
        clippy(report, target)?;
    }
    Ok(())
}

/// For this system, or for a target of a name.
fn clippy(report: &mut Report, target: &str) -> Outcome {
    let mut words = vec!["clippy", "--workspace", "--all-targets"];
    if !target.is_empty() {
        words.extend(["--target", target]);
    }
    words.extend(["--", "--deny", "warnings"]);
    let name = format!("clippy {target}");
    let rerun = format!("cargo {}", words.join(" "));
    check(report, name.trim(), &rerun, cargo().args(words))
}

fn step(what: &str) {
    println!("{what}");
}

/// Makes sure that a part of the toolchain is there.
fn component(command: &str, component: &str) -> Outcome {
    let present = |mut cargo: Command| {
        cargo
            .args([command, "--version"])
            .output()
            .is_ok_and(|output| output.status.success())
    };
    if present(cargo()) {
        return Ok(());
    }
    step(&format!("adding {component}"));
    let added = Command::new("rustup")
        .args(["component", "add", component])
        .current_dir(root())
        .status();
    if added.is_ok_and(|status| status.success()) && present(cargo()) {
        return Ok(());
    }
    Err(
        anyhow!("cargo {command} is missing: install it with `rustup component add {component}`")
            .into(),
    )
}

/// Runs one tool whose silence means success.
fn check(report: &mut Report, name: &str, rerun: &str, command: &mut Command) -> Outcome {
    step(name);
    let output = command
        .output()
        .with_context(|| format!("cannot run {name}"))?;
    if output.status.success() {
        report.passed += 1;
    } else {
        let output = [output.stdout, output.stderr]
            .map(|bytes| String::from_utf8_lossy(&bytes).into_owned())
            .concat();
        report.fail(name, rerun, &output);
    }
    Ok(())
}

fn tests(report: &mut Report, metadata: &Metadata, options: TestOptions) -> Outcome {
    step("tests");
    // Where it fails, the tests of the window are skipped.
    #[cfg(target_os = "linux")]
    packages::install(&plumbline_hosting::PACKAGES);
    let log_path = metadata.target_dir().join("test.log");
    let mut log = fs::File::create(&log_path)
        .with_context(|| format!("cannot write {}", log_path.display()))?;
    let (reader, writer) = std::io::pipe().context("cannot make a pipe")?;
    let mut child = cargo()
        .args([
            "test",
            "--workspace",
            "--no-fail-fast",
            "--",
            "--show-output",
        ])
        .env("PLUMBLINE_SOAK_MINUTES", options.soak_minutes())
        .env("PLUMBLINE_WINDOW_LOOKS", options.window_looks())
        .stdout(writer.try_clone().context("cannot share the pipe")?)
        .stderr(writer)
        .spawn()
        .context("cannot run cargo test")?;
    let progress = spinner();
    for line in BufReader::new(reader).split(b'\n') {
        let line = String::from_utf8_lossy(&line?).into_owned();
        writeln!(log, "{line}")?;
        progress.set_message(format!(
            "{} passed, {} failed: {}",
            report.passed,
            report.failed.len(),
            short(&line)
        ));
        report.read(&line);
    }
    progress.finish_and_clear();
    let ended = child.wait().context("cargo test did not end")?;
    if !ended.success() && report.failed.iter().all(|failed| !failed.is_test) {
        report.fail(
            "cargo test",
            "cargo test --workspace",
            "it did not build, or a test program died: see below",
        );
        report.keep_tail();
    }
    println!("every word of the tests is in {}", log_path.display());
    Ok(())
}

fn spinner() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let spinner = ProgressBar::new_spinner();
    spinner.enable_steady_tick(Duration::from_millis(120));
    spinner
}

fn short(line: &str) -> String {
    line.trim().chars().take(60).collect()
}

fn tidied(report: &mut Report) -> Outcome {
    step("tidy");
    let findings = tidy::findings(root())?;
    if findings.is_empty() {
        report.passed += 1;
    } else {
        report.fail("tidy", "cargo xtask tidy", &findings.join("\n"));
    }
    Ok(())
}

fn close(report: &Report) -> Outcome {
    for Failed {
        name,
        rerun,
        output,
        ..
    } in &report.failed
    {
        println!("\nFAILED {name}\n{}\n  alone: {rerun}", output.trim_end());
    }
    report
        .skipped
        .iter()
        .for_each(|name| println!("skipped {name}"));
    println!(
        "{} passed, {} failed, {} skipped",
        report.passed,
        report.failed.len(),
        report.skipped.len()
    );
    if report.failed.is_empty() {
        Ok(())
    } else {
        Err(anyhow!("see what failed above").into())
    }
}
