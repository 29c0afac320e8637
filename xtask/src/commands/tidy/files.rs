//! The project's files that are read: their paths, forward slashes on every system, and their text.

use std::fs;
use std::path::{Path, PathBuf};

use anyhow::Context;

use crate::failure::Outcome;

/// Names allowed beside dot files at the top level; `target` is where Cargo builds.
pub const TOP_LEVEL: [&str; 11] = [
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE-MIT",
    "LICENSE-APACHE",
    "plugin",
    "xtask",
    "tests",
    "docs",
    "target",
];

/// Kinds of files that are read.
const KINDS: [&str; 7] = ["rs", "toml", "md", "css", "py", "sh", "yml"];

/// One file of the project.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// From the project's folder on, with forward slashes.
    pub path: String,
    /// All of it.
    pub text: String,
}

impl File {
    /// Rust source.
    pub fn is_rust(&self) -> bool {
        self.path.ends_with(".rs")
    }

    /// A program's text, in any of the project's languages.
    pub fn is_source(&self) -> bool {
        self.is_rust() || self.path.ends_with(".py")
    }

    /// The folder it lies in.
    pub fn folder(&self) -> &str {
        self.path.rsplit_once('/').map_or("", |(folder, _)| folder)
    }

    /// Its name in that folder.
    pub fn name(&self) -> &str {
        self.path
            .rsplit_once('/')
            .map_or(&self.path, |(_, name)| name)
    }
}

/// All files that are read, sorted by path.
pub fn read(root: &Path) -> Outcome<Vec<File>> {
    let mut paths = Vec::new();
    for name in TOP_LEVEL.iter().filter(|name| **name != "target") {
        collect(&root.join(name), &mut paths)?;
    }
    let mut files: Vec<File> = paths
        .iter()
        .filter_map(|path| {
            let shown = path.strip_prefix(root).ok()?.to_string_lossy();
            let text = fs::read_to_string(path).unwrap_or_default();
            Some(File {
                path: shown.replace('\\', "/"),
                text,
            })
        })
        .collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(files)
}

fn collect(path: &Path, paths: &mut Vec<PathBuf>) -> Outcome {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    if path.is_dir() {
        if name.starts_with('.') || name == "target" {
            return Ok(());
        }
        for entry in
            fs::read_dir(path).with_context(|| format!("cannot read {}", path.display()))?
        {
            collect(&entry?.path(), paths)?;
        }
    } else if path
        .extension()
        .is_some_and(|kind| KINDS.iter().any(|known| kind == *known))
    {
        paths.push(path.to_owned());
    }
    Ok(())
}
