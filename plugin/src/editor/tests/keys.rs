//! The keys of the manual's list are those that the window looks for.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// What the toolkit does by itself: from control to control.
const TOOLKITS: [&str; 1] = ["Tab"];

/// Every source file of the window but its tests.
fn sources(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().flatten();
    entries
        .flat_map(|entry| match (entry.path(), entry.file_name()) {
            (path, name) if path.is_dir() && name != "tests" => sources(&path),
            (path, _) if path.extension().is_some_and(|kind| kind == "rs") => vec![path],
            _ => Vec::new(),
        })
        .collect()
}

/// As the manual calls it.
fn plain_name(key: &str) -> &str {
    match key {
        _ if key.starts_with("Arrow") => "arrow",
        "Z" => "Ctrl Z",
        _ => key,
    }
}

/// The keys that the window looks for.
fn looked_for() -> BTreeSet<String> {
    let window = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/editor");
    let mut keys = BTreeSet::from(TOOLKITS.map(str::to_owned));
    for path in sources(&window) {
        let text = fs::read_to_string(path).unwrap();
        for part in text.split("Key::").skip(1) {
            let end = part.find(|c: char| !c.is_alphanumeric());
            keys.insert(plain_name(&part[..end.unwrap_or(part.len())]).to_owned());
        }
    }
    keys
}

#[test]
fn the_manual_lists_the_keys_that_the_window_has() {
    let manual = include_str!("../../../../docs/manual.md");
    let (_, table) = manual.split_once("| key | what it does |\n").unwrap();
    let rows = table.lines().take_while(|line| line.starts_with('|'));
    let listed: Vec<&str> = rows.filter_map(|row| row.split('|').nth(1)).collect();
    let keys = looked_for();
    println!("{keys:?}");
    for key in &keys {
        let is_listed = listed.iter().any(|cell| cell.contains(key.as_str()));
        assert!(is_listed, "docs/manual.md does not list {key}");
    }
    for cell in listed.iter().skip(1) {
        let is_looked_for = keys.iter().any(|key| cell.contains(key.as_str()));
        assert!(
            is_looked_for || cell.contains("Alt"),
            "nothing looks for {cell}"
        );
    }
}
