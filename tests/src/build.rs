//! Builds the plugin's library with cargo, so that a test run alone never loads a stale one.

use anyhow::{Context, Result, ensure};
use serde_json::Value;
use std::env::consts::DLL_EXTENSION;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// Which library is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Build {
    /// As it is shipped.
    Release,
    /// A debug build that aborts when `process` allocates.
    Strict,
}

/// Builds the library if needed and says where it is.
///
/// # Errors
///
/// When cargo cannot be run or the plugin does not compile; cargo's own words go to the terminal.
pub fn build(build: Build) -> Result<PathBuf> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["build", "--quiet", "--package", "plumbline", "--lib"]);
    command.arg("--message-format=json-render-diagnostics");
    match build {
        Build::Release => command.arg("--release"),
        Build::Strict => command.args(["--features", "plumbline/assert_process_allocs"]),
    };
    let output = command
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .stderr(Stdio::inherit())
        .output()
        .context("cannot run cargo to build the plugin")?;
    ensure!(output.status.success(), "the plugin does not build");
    let messages = String::from_utf8(output.stdout)?;
    library(&messages).context("cargo built no library of the plugin")
}

/// The library among cargo's messages.
fn library(messages: &str) -> Option<PathBuf> {
    messages
        .lines()
        .filter_map(|line| serde_json::from_str::<Value>(line).ok())
        .filter(|message| message["target"]["name"] == "plumbline")
        .filter_map(|message| message["filenames"].as_array().cloned())
        .flatten()
        .filter_map(|name| name.as_str().map(PathBuf::from))
        .find(|name| {
            name.extension()
                .is_some_and(|ending| ending == DLL_EXTENSION)
        })
}
