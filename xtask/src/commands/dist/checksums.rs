//! SHA-256 sums in the form that `sha256sum --check` and `shasum -a 256 --check` read.

use std::fs;
use std::path::Path;

use anyhow::Context;
use sha2::{Digest, Sha256};

use crate::failure::Outcome;

/// The file of the sums in an archive.
pub const FILE: &str = "SHA256SUMS";

/// Of one file, as hexadecimal digits.
pub fn of_file(path: &Path) -> Outcome<String> {
    let bytes = fs::read(path).with_context(|| format!("cannot read {}", path.display()))?;
    Ok(Sha256::digest(&bytes)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect())
}

/// One line: sum, two spaces, name.
pub fn line(sum: &str, name: &str) -> String {
    format!("{sum}  {name}\n")
}

/// A line for each file in a folder, sorted by name.
pub fn of_folder(folder: &Path) -> Outcome<String> {
    let mut names = Vec::new();
    collect(folder, "", &mut names)?;
    names.sort();
    let lines = names
        .iter()
        .map(|name| Ok(line(&of_file(&folder.join(name))?, name)));
    lines.collect()
}

fn collect(folder: &Path, before: &str, names: &mut Vec<String>) -> Outcome {
    let entries =
        fs::read_dir(folder).with_context(|| format!("cannot read {}", folder.display()))?;
    for entry in entries {
        let entry = entry?;
        let name = format!("{before}{}", entry.file_name().to_string_lossy());
        match entry.file_type()?.is_dir() {
            true => collect(&entry.path(), &format!("{name}/"), names)?,
            false => names.push(name),
        }
    }
    Ok(())
}
