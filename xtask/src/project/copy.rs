//! Bundles copied and removed: a file, or a folder with all that is in it.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use anyhow::{Context, anyhow};

use crate::failure::Outcome;

/// Copies a file, or a folder with all that is in it.
pub fn all(from: &Path, to: &Path) -> Outcome {
    copy(from, to)
        .with_context(|| format!("cannot copy {} to {}", from.display(), to.display()))?;
    Ok(())
}

fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
    if !from.is_dir() {
        return fs::copy(from, to).map(|_| ());
    }
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        copy(&entry.path(), &to.join(entry.file_name()))?;
    }
    Ok(())
}

/// Removes a file, or a folder with all that is in it, where it is there.
pub fn remove(path: &Path) -> Outcome {
    let removed = match path.is_dir() {
        true => fs::remove_dir_all(path),
        false => fs::remove_file(path),
    };
    match removed {
        Err(error) if error.kind() != ErrorKind::NotFound => {
            Err(anyhow!("cannot remove the old {}: {error}", path.display()).into())
        }
        _ => Ok(()),
    }
}
