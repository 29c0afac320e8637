//! Unpacks an archive elsewhere, installs it as an engineer would, and runs the hosted tests on what was installed.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::{Context, anyhow};

use super::archive;
use super::system::System;
use crate::failure::Outcome;
use crate::project::plugin::PACKAGE;
use crate::project::workspace::cargo;

/// The variable that names the library to the hosted tests.
const LIBRARY: &str = "PLUMBLINE_LIBRARY";
/// Hosted tests of the CLAP: what a host does first, signal, measurement, session, latency, missing buffers.
const CLAP_TESTS: [&str; 7] = [
    "buffers::clap",
    "clap::",
    "lifecycle",
    "measuring",
    "side_chain",
    "signal",
    "states",
];
/// Hosted tests of the VST3.
const VST3_TESTS: [&str; 2] = ["buffers::vst3", "vst3::"];

/// Everything, in a folder that is made anew; prints what was run.
pub fn run(archive: &Path, folder: &Path, name: &str, system: System) -> Outcome {
    if folder.exists() {
        fs::remove_dir_all(folder).with_context(|| format!("cannot clear {}", folder.display()))?;
    }
    let (elsewhere, home) = (folder.join("elsewhere"), folder.join("home"));
    fs::create_dir_all(&home).with_context(|| format!("cannot make {}", home.display()))?;
    archive::unpack(archive, &elsewhere, system)?;
    install(&elsewhere.join(name), &home, system)?;
    let [clap, vst3] = installed(&home, system)?;
    test(&clap, &CLAP_TESTS)?;
    test(&vst3, &VST3_TESTS)?;
    println!("both bundles pass the hosted tests from where they were installed");
    Ok(())
}

/// Runs the script of the archive for a user whose home is `home`.
fn install(unpacked: &Path, home: &Path, system: System) -> Outcome {
    let mut words = system.install_line().split(' ');
    let mut command = Command::new(words.next().unwrap_or_default());
    command.args(words).current_dir(unpacked);
    command.env("HOME", home).env("LOCALAPPDATA", home);
    let status = command.status().context("cannot run the install script")?;
    match status.success() {
        true => Ok(()),
        false => Err(anyhow!("the install script failed").into()),
    }
}

/// The libraries of CLAP and VST3 in the user's folders, as a host opens them.
fn installed(home: &Path, system: System) -> Outcome<[PathBuf; 2]> {
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

fn test(library: &Path, filters: &[&str]) -> Outcome {
    println!("hosted tests on {}", library.display());
    let status = cargo()
        .args([
            "test",
            "--quiet",
            "--package",
            "plumbline-hosting",
            "--test",
            "hosted",
            "--",
        ])
        .args(filters)
        .env(LIBRARY, library)
        .status()
        .context("cannot run cargo test")?;
    match status.success() {
        true => Ok(()),
        false => Err(anyhow!("{} does not pass the hosted tests", library.display()).into()),
    }
}
