//! Where the project and its build output are, and which package a test binary belongs to.

use std::path::{Path, PathBuf};
use std::process::Command;

use anyhow::Context;
use serde_json::Value;

use crate::failure::Outcome;

/// The folder of the top-level Cargo.toml.
pub fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .parent()
        .unwrap_or(Path::new("."))
}

/// Cargo, the one that runs us where there is one, started in the project's folder.
pub fn cargo() -> Command {
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.current_dir(root());
    cargo
}

/// What Cargo says about the workspace.
pub struct Metadata(Value);

/// A test, library or binary of a package.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Target {
    /// The package's name.
    pub package: String,
    /// The target's name, as written in Cargo.toml.
    pub name: String,
    /// "lib", "test", "bin" and so on.
    pub kind: String,
}

impl Metadata {
    /// Asks Cargo.
    pub fn read() -> Outcome<Self> {
        let output = cargo()
            .args(["metadata", "--no-deps", "--format-version", "1"])
            .output()
            .context("cannot run cargo metadata")?;
        Ok(Self(
            serde_json::from_slice(&output.stdout).context("cargo metadata did not answer")?,
        ))
    }

    /// The build folder.
    pub fn target_dir(&self) -> PathBuf {
        self.0["target_directory"]
            .as_str()
            .map_or_else(|| root().join("target"), PathBuf::from)
    }

    /// All targets of all packages.
    pub fn targets(&self) -> Vec<Target> {
        let packages = self.0["packages"]
            .as_array()
            .map(Vec::as_slice)
            .unwrap_or_default();
        packages.iter().flat_map(targets_of).collect()
    }
}

fn targets_of(package: &Value) -> Vec<Target> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let targets = package["targets"]
        .as_array()
        .map(Vec::as_slice)
        .unwrap_or_default();
    targets
        .iter()
        .flat_map(|target| {
            let kinds = target["kind"]
                .as_array()
                .map(Vec::as_slice)
                .unwrap_or_default();
            kinds.iter().map(|kind| Target {
                package: text(&package["name"]),
                name: text(&target["name"]),
                kind: text(kind),
            })
        })
        .collect()
}
