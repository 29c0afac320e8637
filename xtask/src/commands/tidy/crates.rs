//! Arrows between the crates, read from their Cargo.toml.

use toml::{Table, Value};

use super::arrows::{PACKAGES, Package, TABLES};
use super::files::File;

/// Sections in which a manifest names what its crate needs, at the top or under a platform.
const SECTIONS: [&str; 3] = ["dependencies", "dev-dependencies", "build-dependencies"];

/// Every dependency that points up, and every one the core may not have.
pub fn findings(files: &[File]) -> Vec<String> {
    let manifests = files.iter().filter(|file| file.name() == "Cargo.toml");
    manifests.flat_map(findings_of).collect()
}

fn findings_of(file: &File) -> Vec<String> {
    let Ok(manifest) = file.text.parse::<Table>() else {
        return vec![format!("{}: not TOML that can be read", file.path)];
    };
    let Some(name) = manifest
        .get("package")
        .and_then(|package| package.get("name"))
        .and_then(Value::as_str)
    else {
        return Vec::new();
    };
    let Some(package) = PACKAGES.iter().find(|package| package.name == name) else {
        return vec![format!("{}: {name} has no row in {TABLES}", file.path)];
    };
    let needed = SECTIONS
        .iter()
        .flat_map(|section| needed(&manifest, section))
        .filter(|needed| is_own(needed) && !package.may_use.contains(needed))
        .map(|needed| up(file, package, needed));
    let foreign = needed_to_run(&manifest)
        .filter(|needed| !is_own(needed) && package.foreign.forbids(needed))
        .map(|needed| {
            format!(
                "{}: {name} needs {needed}: it may have nothing but {:?}",
                file.path, package.foreign
            )
        });
    needed.chain(foreign).collect()
}

fn up(file: &File, package: &Package, needed: &str) -> String {
    format!(
        "{}: an arrow that points up: {} needs {needed}, and may need of our own crates only {:?}: move what is shared \
         into a crate below both",
        file.path, package.name, package.may_use
    )
}

fn is_own(name: &str) -> bool {
    PACKAGES.iter().any(|package| package.name == name)
}

fn needed_to_run(manifest: &Table) -> impl Iterator<Item = &str> {
    needed(manifest, SECTIONS[0])
}

/// Names in a section, for every platform.
fn needed<'a>(manifest: &'a Table, section: &str) -> impl Iterator<Item = &'a str> {
    let platforms = manifest.get("target").and_then(Value::as_table);
    let tables = platforms
        .into_iter()
        .flat_map(|platforms| platforms.values())
        .filter_map(Value::as_table)
        .chain([manifest]);
    let sections: Vec<_> = tables
        .filter_map(|table| table.get(section)?.as_table())
        .collect();
    sections
        .into_iter()
        .flat_map(|section| section.keys().map(String::as_str))
}
