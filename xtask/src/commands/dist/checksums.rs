//! SHA-256 sums in the form that `sha256sum --check` and `shasum -a 256 --check` read.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use anyhow::{Context, anyhow};
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
    let names = files(folder)?;
    let lines = names
        .iter()
        .filter(|name| *name != FILE)
        .map(|name| Ok(line(&of_file(&folder.join(name))?, name)));
    lines.collect()
}

/// Every file of a folder must be in its list of sums, as it was packed, and nothing else; how many they are.
pub fn verify(folder: &Path) -> Outcome<usize> {
    let list = folder.join(FILE);
    let packed =
        fs::read_to_string(&list).with_context(|| format!("cannot read {}", list.display()))?;
    let (packed, found): (BTreeSet<_>, _) = (packed.lines().collect(), of_folder(folder)?);
    let found: BTreeSet<_> = found.lines().collect();
    match packed.symmetric_difference(&found).next() {
        None => Ok(found.len()),
        Some(line) => Err(anyhow!("{} is not as it was packed: {line}", folder.display()).into()),
    }
}

/// The names of all files in a folder, sorted, with a slash between folders.
pub fn files(folder: &Path) -> Outcome<Vec<String>> {
    let mut names = Vec::new();
    collect(folder, "", &mut names)?;
    names.sort();
    Ok(names)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_changed_or_came_later_is_noticed() {
        let place = tempfile::tempdir().expect("a folder");
        let folder = place.path();
        let write = |name: &str, text: &str| fs::write(folder.join(name), text).expect("a file");
        fs::create_dir(folder.join("inside")).expect("a folder");
        write("inside/one", "words");
        write(FILE, &of_folder(folder).expect("sums"));
        assert_eq!(verify(folder).expect("as packed"), 1);
        write("two", "more");
        assert!(verify(folder).is_err());
        fs::remove_file(folder.join("two")).expect("removed");
        write("inside/one", "other words");
        assert!(verify(folder).is_err());
    }
}
