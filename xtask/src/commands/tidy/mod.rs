//! `cargo xtask tidy`: the tree against the rules of the house.
//!
//! Reads the sources as text and as syntax trees and prints one line for each finding: who it is about, what is wrong,
//! what to do. Every check is a function from the project's files to findings, and none of them changes anything.
//! The arrows that are allowed between rooms and between crates stand in `arrows.rs`.

mod arrows;
mod circles;
mod code_map;
mod crates;
mod files;
mod imports;
mod items;
mod layout;
mod links;
mod modules;
mod rooms;
mod sizes;
mod wording;
mod workflows;

use std::path::Path;

use anyhow::anyhow;
use clap::Args;

use crate::failure::Outcome;
use crate::manual;
use crate::project::workspace::root;
use files::File;

/// Options of `cargo xtask tidy`.
#[derive(Args, Clone, Copy, Debug, Default)]
pub struct TidyOptions {
    /// Write the code map anew instead of checking it
    #[arg(long)]
    write: bool,
}

/// Prints every finding; fails when there is one.
pub fn run(options: TidyOptions) -> Outcome {
    if options.write {
        code_map::write(root(), &files::read(root())?)?;
    }
    let findings = findings(root())?;
    findings.iter().for_each(|finding| println!("{finding}"));
    if findings.is_empty() {
        println!("tidy");
        return Ok(());
    }
    Err(anyhow!("{} to tidy", findings.len()).into())
}

/// Everything that is not tidy under a project's folder.
pub fn findings(root: &Path) -> Outcome<Vec<String>> {
    let files = files::read(root)?;
    let mut findings = layout::strangers(root)?;
    findings.extend(layout::rooms_without_entrance(&files));
    findings.extend(wording::findings(&files));
    findings.extend(sizes::findings(&files));
    findings.extend(code_map::findings(&files));
    findings.extend(crates::findings(&files));
    findings.extend(links::findings(root, &files));
    findings.extend(workflows::findings(root, &files)?);
    let document = files.iter().find(|file| file.path == manual::DOCUMENT);
    findings.extend(
        document
            .into_iter()
            .flat_map(|file| manual::stale(&file.text)),
    );
    for krate in &arrows::CRATES {
        findings.extend(import_findings(&files, krate)?);
    }
    Ok(findings)
}

/// Circles between the files of one crate, and arrows between its rooms that point up.
fn import_findings(files: &[File], krate: &arrows::Crate) -> Outcome<Vec<String>> {
    let imports = imports::of(&modules::tree(files, krate.folder)?);
    let mut findings = circles::findings(&imports);
    findings.extend(rooms::findings(krate, files, &imports));
    Ok(findings)
}

#[cfg(test)]
mod tests;
