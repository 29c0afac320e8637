//! The licences of every crate that is linked into the plugin: checked against those we accept, and their texts.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use anyhow::{Context, anyhow};
use cargo_metadata::{DependencyKind, Metadata, MetadataCommand, Package, PackageId, TargetKind};
use spdx::{Expression, ParseMode};

use super::system::System;
use crate::failure::Outcome;
use crate::project::plugin::PACKAGE;
use crate::project::workspace::root;

/// Licences (SPDX) that allow the plugin to be given away as it is.
const ACCEPTED: [&str; 14] = [
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "OFL-1.1",
    "Ubuntu-font-1.0",
    "Unicode-3.0",
    "Unicode-DFS-2016",
    "Unlicense",
    "Zlib",
];
/// How a file with a licence's text begins, in capitals.
const BEGINNINGS: [&str; 8] = [
    "LICENSE",
    "LICENCE",
    "COPYING",
    "COPYRIGHT",
    "NOTICE",
    "UNLICENSE",
    "OFL",
    "UFL",
];
/// How deep in a crate such files are looked for: fonts have theirs beside them.
const DEPTH: usize = 2;

/// One crate that is linked.
struct Linked {
    /// Name and version.
    name: String,
    expression: String,
    texts: Vec<String>,
}

/// The page for the archive.
pub fn text(system: System) -> Outcome<String> {
    let linked = linked(system)?;
    let mut page = format!(
        "Plumbline is linked with the standard library of Rust (MIT OR Apache-2.0, https://www.rust-lang.org) and these {} \
         crates, each under the licence beside it. The texts follow.\n\n",
        linked.len()
    );
    let mut users: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for krate in &linked {
        page += &format!("{}: {}\n", krate.name, krate.expression);
        for text in &krate.texts {
            users.entry(text).or_default().push(&krate.name);
        }
    }
    for (text, names) in users {
        page += &format!("\n{}\n{}\n\n{text}\n", "=".repeat(100), names.join(", "));
    }
    Ok(page)
}

fn linked(system: System) -> Outcome<Vec<Linked>> {
    let mut packages = BTreeMap::new();
    for target in system.targets() {
        let metadata = MetadataCommand::new()
            .manifest_path(root().join("Cargo.toml"))
            .other_options([
                "--locked".to_owned(),
                "--filter-platform".to_owned(),
                target,
            ])
            .exec()
            .context("cargo metadata did not answer")?;
        for package in foreign(&metadata)? {
            packages.insert(
                format!("{} {}", package.name, package.version),
                package.clone(),
            );
        }
    }
    packages
        .into_iter()
        .map(|(name, package)| of(name, &package))
        .collect()
}

/// Crates of others that the plugin's library is made of: what only builds or tests it is not linked, nor are macros.
fn foreign(metadata: &Metadata) -> Outcome<Vec<&Package>> {
    let graph = metadata
        .resolve
        .as_ref()
        .context("cargo metadata gave no graph")?;
    let nodes: BTreeMap<&PackageId, _> = graph.nodes.iter().map(|node| (&node.id, node)).collect();
    let ours = metadata.workspace_packages();
    let plugin = ours.iter().find(|package| package.name.as_str() == PACKAGE);
    let mut waiting = vec![&plugin.context("the plugin is no package")?.id];
    let mut seen = BTreeSet::new();
    while let Some(id) = waiting.pop() {
        if metadata[id]
            .targets
            .iter()
            .any(|target| target.kind.contains(&TargetKind::ProcMacro))
            || !seen.insert(id)
        {
            continue;
        }
        let normal = |kinds: &[cargo_metadata::DepKindInfo]| {
            kinds.iter().any(|kind| kind.kind == DependencyKind::Normal)
        };
        let needs = nodes.get(id).into_iter().flat_map(|node| &node.deps);
        waiting.extend(
            needs
                .filter(|need| normal(&need.dep_kinds))
                .map(|need| &need.pkg),
        );
    }
    let packages = seen.into_iter().map(|id| &metadata[id]);
    Ok(packages
        .filter(|package| package.source.is_some())
        .collect())
}

fn of(name: String, package: &Package) -> Outcome<Linked> {
    let said = package.license.clone().unwrap_or_default();
    let expression = Expression::parse_mode(&said, ParseMode::LAX)
        .map_err(|error| anyhow!("{name}: licence \"{said}\": {error}"))?;
    let accepted = |requirement: &spdx::LicenseReq| {
        requirement
            .license
            .id()
            .is_some_and(|id| ACCEPTED.contains(&id.name))
    };
    if !expression.evaluate(accepted) {
        return Err(
            anyhow!("{name}: \"{said}\" is not among the licences that are accepted").into(),
        );
    }
    let folder = package
        .manifest_path
        .parent()
        .context("a crate has a folder")?;
    let mut texts = files(folder.as_std_path(), DEPTH)?;
    if texts.is_empty() {
        let ids = expression
            .requirements()
            .filter_map(|requirement| requirement.req.license.id());
        texts = ids.map(|id| id.text().trim().to_owned()).collect();
    }
    Ok(Linked {
        name,
        expression: said,
        texts,
    })
}

/// The texts of licences in a crate's folder.
fn files(folder: &Path, depth: usize) -> Outcome<Vec<String>> {
    let mut texts = Vec::new();
    for entry in
        fs::read_dir(folder).with_context(|| format!("cannot read {}", folder.display()))?
    {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().to_uppercase();
        if entry.file_type()?.is_dir() {
            texts.extend(if depth > 0 {
                files(&entry.path(), depth - 1)?
            } else {
                Vec::new()
            });
        } else if BEGINNINGS
            .iter()
            .any(|beginning| name.starts_with(beginning))
            && !name.ends_with(".RS")
        {
            let bytes = fs::read(entry.path())?;
            texts.push(
                String::from_utf8_lossy(&bytes)
                    .replace('\r', "")
                    .trim()
                    .to_owned(),
            );
        }
    }
    Ok(texts)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_crate_that_is_linked_has_an_accepted_licence_and_a_text() {
        for system in [System::Linux, System::here().expect("a system")] {
            let linked = linked(system).expect("licences");
            assert!(linked.len() > 20, "{}", linked.len());
            for krate in linked {
                assert!(!krate.texts.is_empty(), "{} has no text", krate.name);
            }
        }
    }
}
