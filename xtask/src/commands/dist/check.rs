//! Unpacks an archive elsewhere, installs it as an engineer would, and runs the hosted tests on what was installed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, anyhow};

use super::system::System;
use super::wine::{Wine, windows_path};
use super::{archive, checksums, needs};
use crate::failure::Outcome;
use crate::project::plugin::PACKAGE;
use crate::project::targets::WINDOWS_FROM_LINUX;
use crate::project::workspace::cargo;

/// The variable that names the library to the hosted tests.
const LIBRARY: &str = "PLUMBLINE_LIBRARY";
/// The variable that names to cargo what runs a program of Windows.
const RUNNER: &str = "CARGO_TARGET_X86_64_PC_WINDOWS_GNU_RUNNER";
/// Hosted tests of the CLAP: what a host does first, loading, signal, measurement, session, latency, missing buffers.
const CLAP_TESTS: [&str; 8] = [
    "buffers::clap",
    "clap::",
    "lifecycle",
    "loading::",
    "measuring",
    "side_chain",
    "signal",
    "states",
];
/// Hosted tests of the VST3.
const VST3_TESTS: [&str; 2] = ["buffers::vst3", "vst3::"];
/// What tells how long a host's scan of the CLAP and of the VST3 takes, first and again, and the word it says both with.
const SCANS: [&str; 2] = ["loading::a_scan", "vst3::scan"];
const SCAN_SAYS: &str = " takes ";

/// Everything, in a folder that is made anew; prints what was run.
pub fn run(archive: &Path, folder: &Path, name: &str, system: System) -> Outcome {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot clear {}", folder.display()))?;
    }
    let (elsewhere, home) = (folder.join("elsewhere"), folder.join("home"));
    fs::create_dir_all(&home).with_context(|| format!("cannot make {}", home.display()))?;
    archive::unpack(archive, &elsewhere, system)?;
    let unpacked = elsewhere.join(name);
    let files = checksums::verify(&unpacked)?;
    println!("{files} files as their checksums say");
    let wine = match system {
        System::WindowsFromLinux => Some(Wine::start(&home)?),
        System::Linux | System::MacOs | System::Windows => None,
    };
    let wine = wine.as_ref();
    // Twice: an older version must be replaced.
    for _ in 0..2 {
        install(&unpacked, &home, system, wine)?;
    }
    let [clap, vst3] = installed(&home, system, wine)?;
    if system == System::WindowsFromLinux {
        needs::check(&clap)?;
    }
    for (library, filters, scan) in [
        (&clap, &CLAP_TESTS[..], SCANS[0]),
        (&vst3, &VST3_TESTS[..], SCANS[1]),
    ] {
        println!("hosted tests on {}", library.display());
        test(library, filters, wine)?;
        tell_scan(library, scan, wine)?;
    }
    println!("both bundles pass the hosted tests from where they were installed");
    Ok(())
}

/// Runs the script of the archive for a user whose home is `home`.
fn install(unpacked: &Path, home: &Path, system: System, wine: Option<&Wine>) -> Outcome {
    let words: Vec<_> = system.install_line().split(' ').collect();
    let mut command = match wine {
        Some(wine) => wine.command(&words),
        None => {
            let mut command = Command::new(words[0]);
            command.args(&words[1..]);
            command.env("HOME", home).env("LOCALAPPDATA", home);
            command
        }
    };
    let status = command.current_dir(unpacked).status();
    match status.context("cannot run the install script")?.success() {
        true => Ok(()),
        false => Err(anyhow!("the install script failed").into()),
    }
}

/// The libraries of CLAP and VST3 in the user's folders, as a host opens them.
fn installed(home: &Path, system: System, wine: Option<&Wine>) -> Outcome<[PathBuf; 2]> {
    let home = match wine {
        Some(wine) => wine.local_data()?,
        None => home.to_owned(),
    };
    let (clap, vst3) = match system {
        System::Linux => (".clap", ".vst3"),
        System::MacOs => ("Library/Audio/Plug-Ins/CLAP", "Library/Audio/Plug-Ins/VST3"),
        System::Windows | System::WindowsFromLinux => {
            ("Programs/Common/CLAP", "Programs/Common/VST3")
        }
    };
    Ok([
        library(&home.join(clap), "clap")?,
        library(&home.join(vst3), "vst3")?,
    ])
}

/// A bundle is the library itself, or a folder that has it inside.
fn library(folder: &Path, extension: &str) -> Outcome<PathBuf> {
    let bundle = folder.join(format!("{PACKAGE}.{extension}"));
    if bundle.is_file() {
        return Ok(bundle);
    }
    let contents = bundle.join("Contents");
    let folders = fs::read_dir(&contents)
        .with_context(|| format!("nothing is installed at {}", bundle.display()))?;
    let files = folders
        .flatten()
        .filter_map(|entry| fs::read_dir(entry.path()).ok())
        .flatten()
        .flatten();
    let is_library = |path: &PathBuf| {
        let ending = path.extension().and_then(|ending| ending.to_str());
        path.is_file()
            && (matches!(ending, Some("so" | "vst3"))
                || path.file_name().is_some_and(|name| name == PACKAGE))
    };
    let mut libraries = files.map(|entry| entry.path()).filter(is_library);
    libraries
        .next()
        .with_context(|| format!("{} holds no library", bundle.display()))
        .map_err(Into::into)
}

/// The hosted tests of these names on a library.
fn test(library: &Path, filters: &[&str], wine: Option<&Wine>) -> Outcome {
    let status = hosted_tests(library, wine).args(filters).status();
    match status.context("cannot run cargo test")?.success() {
        true => Ok(()),
        false => Err(anyhow!("{} does not pass the hosted tests", library.display()).into()),
    }
}

/// Prints what the test of a scan says.
fn tell_scan(library: &Path, test: &str, wine: Option<&Wine>) -> Outcome {
    let mut command = hosted_tests(library, wine);
    let output = command.args([test, "--nocapture"]).output();
    let said = output.context("cannot run cargo test")?.stdout;
    let said = String::from_utf8_lossy(&said);
    let lines: Vec<_> = said
        .lines()
        .filter(|line| line.contains(SCAN_SAYS))
        .collect();
    if lines.is_empty() {
        return Err(anyhow!("no scan was timed").into());
    }
    println!("{}", lines.join("\n"));
    Ok(())
}

/// Cargo, as far as the names of tests; in Wine those of Windows, built here.
fn hosted_tests(library: &Path, wine: Option<&Wine>) -> Command {
    let mut command = cargo();
    command.args(["test", "--quiet", "--package", "plumbline-hosting"]);
    command.args(["--test", "hosted"]);
    match wine {
        Some(wine) => {
            command.args(["--target", WINDOWS_FROM_LINUX]);
            command.env(RUNNER, "wine");
            command.env(LIBRARY, windows_path(library));
            wine.set(&mut command);
        }
        None => {
            command.env(LIBRARY, library);
        }
    }
    command.arg("--");
    command
}
