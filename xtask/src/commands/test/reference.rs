//! The outside checks: the built plugin in hosts that are not ours, against libraries and formulas that are not ours.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, anyhow};

use super::report::Report;
use crate::failure::Outcome;
use crate::project::packages;
use crate::project::plugin;
use crate::project::workspace::{Metadata, cargo, root};

/// The environment and its requirements.
const FOLDER: &str = "tests/reference";
/// Where it may be, the tried one first. Its minor version is the one that the requirements were pinned for.
const PYTHONS: [&str; 2] = ["python3.11", "python3"];
/// What a Python must be able to do.
const ABLE: &str = "import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))";
/// What Debian calls it.
const PACKAGES: [&str; 2] = ["python3", "python3-venv"];
/// The host of the slow end-to-end check.
const HOST: [&str; 1] = ["ardour"];
/// Holds a copy of the requirements once all of them are installed.
const STAMP: &str = "installed.txt";

/// How many of the checks run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Depth {
    /// A few cases of everything, some seconds each group.
    #[default]
    Quick,
    /// Every case.
    Full,
    /// Every case, and the evidence page is written.
    Evidence,
    /// The plugin's answers are disturbed: every group of checks must notice.
    Sabotage,
}

/// Runs the checks and adds their outcome to the report.
pub fn run(report: &mut Report, depth: Depth) -> Outcome {
    let target = Metadata::read()?.target_dir();
    let Some(python) = python()? else {
        let why = format!(
            "outside checks (skipped: no Python 3.11 with venv; {})",
            packages::command(&PACKAGES)
        );
        report.skipped.push(why);
        return Ok(());
    };
    if depth != Depth::Quick {
        // Whether it worked is seen by the checks, which skip a host that is not there.
        packages::install(&HOST);
    }
    let python = environment(&python, &target.join("reference"))?;
    let mut checks = Command::new(python);
    checks.current_dir(root()).args(arguments(&target, depth)?);
    let alone = "cargo xtask test --reference";
    let log = target.join("reference.log");
    let failed = listen(report, &mut checks, &log, alone)?;
    if !failed && depth == Depth::Evidence {
        println!("evidence is in docs/evidence.md");
    }
    println!("every word of the outside checks is in {}", log.display());
    Ok(())
}

/// A Python that can make environments; installed where that can be done.
fn python() -> Outcome<Option<PathBuf>> {
    let able = |name: &&&str| {
        Command::new(name)
            .args(["-c", ABLE])
            .output()
            .is_ok_and(|output| output.status.success())
    };
    let found = || PYTHONS.iter().find(able).map(PathBuf::from);
    if found().is_none() {
        packages::install(&PACKAGES);
    }
    Ok(found())
}

/// An environment of our own with exactly the pinned libraries; returns its Python.
fn environment(python: &Path, folder: &Path) -> Outcome<PathBuf> {
    let own = folder.join(if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    });
    let requirements = root().join(FOLDER).join("requirements.txt");
    let wanted = fs::read_to_string(&requirements)
        .with_context(|| format!("cannot read {}", requirements.display()))?;
    if fs::read_to_string(folder.join(STAMP)).is_ok_and(|had| had == wanted) && own.exists() {
        return Ok(own);
    }
    println!("making {}", folder.display());
    finish(
        Command::new(python)
            .args(["-m", "venv", "--clear"])
            .arg(folder),
    )?;
    finish(
        Command::new(&own)
            .args([
                "-m",
                "pip",
                "install",
                "--quiet",
                "--disable-pip-version-check",
            ])
            .arg("--requirement")
            .arg(&requirements),
    )?;
    fs::write(folder.join(STAMP), wanted).context("cannot write into the environment")?;
    Ok(own)
}

fn finish(command: &mut Command) -> Outcome {
    let output = command
        .output()
        .with_context(|| format!("cannot run {command:?}"))?;
    if output.status.success() {
        return Ok(());
    }
    let words = String::from_utf8_lossy(&output.stderr).into_owned();
    Err(anyhow!("{command:?} failed:\n{words}").into())
}

/// What is checked and how deep.
fn arguments(target: &Path, depth: Depth) -> Outcome<Vec<PathBuf>> {
    let clap = plugin::built_clap()?;
    finish(
        cargo()
            .args(["build", "--quiet", "--package", "plumbline-hosting"])
            .args(["--example", "render", "--example", "meters"]),
    )?;
    // By name: building the tests has put a new file in the place of the one that runs.
    let built = |name: &str| {
        target
            .join("debug")
            .join(name)
            .with_extension(std::env::consts::EXE_EXTENSION)
    };
    let mut arguments: Vec<PathBuf> = vec![Path::new(FOLDER).join("run.py")];
    let mut give = |option: &str, value: PathBuf| arguments.extend([option.into(), value]);
    give("--vst3", clap.with_extension("vst3"));
    give("--clap", clap);
    give("--clap-renderer", built("examples/render"));
    give("--meters", built("examples/meters"));
    give("--xtask", built("xtask"));
    if let Some(recordings) = recordings() {
        give("--recordings", recordings);
    }
    match depth {
        Depth::Quick => {}
        Depth::Full => arguments.push("--full".into()),
        Depth::Evidence => {
            arguments.push("--full".into());
            arguments.extend(["--evidence".into(), "docs/evidence.md".into()]);
        }
        Depth::Sabotage => arguments.push("--sabotage".into()),
    }
    Ok(arguments)
}

/// Real strokes, where there are some.
fn recordings() -> Option<PathBuf> {
    let beside = || root().join("../shared/recordings");
    let folder = std::env::var_os("PLUMBLINE_RECORDINGS").map_or_else(beside, PathBuf::from);
    folder.is_dir().then_some(folder)
}

/// Reads what the checks say, line by line, and keeps all of it. True when something failed.
fn listen(report: &mut Report, checks: &mut Command, log: &Path, alone: &str) -> Outcome<bool> {
    let mut file =
        fs::File::create(log).with_context(|| format!("cannot write {}", log.display()))?;
    let (reader, writer) = std::io::pipe().context("cannot make a pipe")?;
    checks
        .stderr(writer.try_clone().context("cannot share the pipe")?)
        .stdout(writer);
    let mut child = checks.spawn().context("cannot run Python")?;
    // The command holds the other end of the pipe: reading would never end.
    checks
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null());
    let before = report.failed.len();
    let mut last = String::new();
    for line in BufReader::new(reader).lines() {
        let line = line.context("cannot read what the checks say")?;
        writeln!(file, "{line}")?;
        take(report, &line, alone);
        last = line;
    }
    let ended = child.wait().context("the checks did not end")?;
    if !ended.success() && report.failed.len() == before {
        report.fail("outside checks", alone, &last);
    }
    Ok(report.failed.len() > before)
}

/// One line: `ok`, `FAILED`, `BLIND` or `skipped:`, then what it is about. Others are words.
fn take(report: &mut Report, line: &str, alone: &str) {
    if line.starts_with("ok  ") {
        report.passed += 1;
    } else if let Some(reason) = line.strip_prefix("skipped: ") {
        report.skipped.push(format!("outside checks: {reason}"));
    } else if let Some(what) = line
        .strip_prefix("FAILED ")
        .or_else(|| line.strip_prefix("BLIND "))
    {
        report.fail("outside checks", alone, what.trim());
    } else if line.starts_with('|') || line.starts_with("sabotage:") {
        println!("{line}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_counted() {
        let mut report = Report::new(Vec::new());
        let said = [
            "ok     delay: 0.5 samples: measured -130 dB",
            "FAILED comb: null: measured 0 dB",
            "skipped: recordings: no folder",
            "delay: 3 s",
        ];
        said.iter()
            .for_each(|line| take(&mut report, line, "alone"));
        assert_eq!(
            (report.passed, report.failed.len(), report.skipped.len()),
            (1, 1, 1)
        );
        assert_eq!(report.failed[0].words, "comb: null: measured 0 dB");
    }
}
