//! The layout of the tree: nothing strange at the top level, and an entrance to every folder of source.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::Context;

use super::files::{File, TOP_LEVEL};
use crate::failure::Outcome;

/// Folders whose files are programs of their own, and need no common entrance.
const APART: [&str; 3] = ["benches", "examples", "tests"];

/// Files that are entered without a `mod.rs`.
const ENTRANCES: [&str; 4] = ["mod.rs", "lib.rs", "main.rs", "Cargo.toml"];

/// Lines of `//!` that an entrance has at least: what the room promises, who calls it, what it may call.
const LEAST_DOC_LINES: usize = 3;

/// What lies at the top level and has no business there.
pub fn strangers(root: &Path) -> Outcome<Vec<String>> {
    let mut strangers = Vec::new();
    for entry in fs::read_dir(root).with_context(|| format!("cannot read {}", root.display()))? {
        let name = entry?.file_name().to_string_lossy().into_owned();
        if !name.starts_with('.') && !TOP_LEVEL.contains(&name.as_str()) {
            strangers.push(format!(
                "{name}: the top level holds nothing but {}",
                TOP_LEVEL.join(" ")
            ));
        }
    }
    Ok(strangers)
}

/// Folders of source that have no entrance, and entrances that do not say what their room is for.
pub fn rooms_without_entrance(files: &[File]) -> Vec<String> {
    let folders: BTreeSet<&str> = files
        .iter()
        .filter(|file| file.is_rust())
        .map(File::folder)
        .collect();
    let missing = folders
        .into_iter()
        .filter(|folder| !is_apart(folder) && !has_entrance(files, folder))
        .map(|folder| format!("{folder}: no mod.rs: say there what the folder promises"));
    let terse = files
        .iter()
        .filter(|file| file.name() == "mod.rs" && doc_lines(&file.text) < LEAST_DOC_LINES)
        .map(|file| {
            format!(
                "{}:1: an entrance says in at least {LEAST_DOC_LINES} lines of //! what its folder promises, who calls \
                 it and what it may call",
                file.path
            )
        });
    missing.chain(terse).collect()
}

fn is_apart(folder: &str) -> bool {
    let name = folder.rsplit('/').next().unwrap_or(folder);
    APART.contains(&name) && !folder.contains("/src")
}

fn has_entrance(files: &[File], folder: &str) -> bool {
    files
        .iter()
        .any(|file| file.folder() == folder && ENTRANCES.contains(&file.name()))
}

fn doc_lines(text: &str) -> usize {
    text.lines()
        .take_while(|line| line.starts_with("//!"))
        .filter(|line| line.len() > 4)
        .count()
}
