//! The code map, docs/map.md: one heading for each folder, one line for each source file with its first line.

use std::fs;
use std::path::Path;

use anyhow::Context;

use super::files::File;
use super::wording::first_line;
use crate::failure::Outcome;

/// Where the map stands.
pub const PATH: &str = "docs/map.md";

const HEAD: &str =
    "# Code map\n\nWritten by `cargo xtask tidy --write`: every source file and its first line.\n";

/// The map as it should be.
pub fn text(files: &[File]) -> String {
    let mut text = HEAD.to_owned();
    let mut sources: Vec<&File> = files.iter().filter(|file| file.is_rust()).collect();
    sources.sort_by_key(|file| (file.folder(), !is_entrance(file), file.name()));
    let mut folder = None;
    for file in sources {
        if folder != Some(file.folder()) {
            text.push_str(&format!("\n## {}\n\n", file.folder()));
            folder = Some(file.folder());
        }
        text.push_str(&line(file));
        text.push('\n');
    }
    text
}

fn is_entrance(file: &File) -> bool {
    ["mod.rs", "lib.rs", "main.rs"].contains(&file.name())
}

fn line(file: &File) -> String {
    let sentence = first_line(&file.text).unwrap_or("(no first line)");
    format!("- `{}`: {sentence}", file.name())
}

/// Where the map does not agree with the tree.
pub fn findings(files: &[File]) -> Vec<String> {
    let wanted = text(files);
    let Some(map) = files.iter().find(|file| file.path == PATH) else {
        return vec![format!(
            "{PATH}: missing: cargo xtask tidy --write writes it"
        )];
    };
    if map.text == wanted {
        return Vec::new();
    }
    let lacks = |text: &str, line: &&str| !text.lines().any(|other| other == *line);
    let missing = wanted.lines().filter(|line| lacks(&map.text, line));
    let stale = map.text.lines().filter(|line| lacks(&wanted, line));
    missing
        .map(|line| format!("{PATH}: lacks: {line}"))
        .chain(stale.map(|line| format!("{PATH}: stale: {line}")))
        .chain([format!("{PATH}: cargo xtask tidy --write renews it")])
        .collect()
}

/// Writes the map anew.
pub fn write(root: &Path, files: &[File]) -> Outcome {
    let path = root.join(PATH);
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).with_context(|| format!("cannot make {}", folder.display()))?;
    }
    fs::write(&path, text(files)).with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}
