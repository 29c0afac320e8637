//! Circles between files: each is found as the shortest way from a file back to itself.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::imports::Import;

/// One finding for each circle; circles that share a file are shown one at a time.
pub fn findings(imports: &[Import]) -> Vec<String> {
    let files: BTreeSet<&str> = imports.iter().map(|import| import.from.as_str()).collect();
    let mut shown = BTreeSet::new();
    let mut findings = Vec::new();
    for file in files {
        if shown.contains(file) {
            continue;
        }
        if let Some(circle) = shortest(imports, file) {
            shown.extend(circle.iter().map(|import| import.from.as_str()));
            findings.push(words(&circle));
        }
    }
    findings
}

/// The shortest circle through a file.
fn shortest<'a>(imports: &'a [Import], start: &str) -> Option<Vec<&'a Import>> {
    let mut reached_by: BTreeMap<&str, &Import> = BTreeMap::new();
    let mut waiting = VecDeque::from([start]);
    while let Some(file) = waiting.pop_front() {
        for import in imports.iter().filter(|import| import.from == file) {
            if reached_by.contains_key(import.to.as_str()) {
                continue;
            }
            reached_by.insert(&import.to, import);
            if import.to == start {
                return Some(way_back(&reached_by, start));
            }
            waiting.push_back(&import.to);
        }
    }
    None
}

fn way_back<'a>(reached_by: &BTreeMap<&str, &'a Import>, start: &str) -> Vec<&'a Import> {
    let mut way = vec![reached_by[start]];
    while way[way.len() - 1].from != start {
        way.push(reached_by[way[way.len() - 1].from.as_str()]);
    }
    way.reverse();
    way
}

fn words(circle: &[&Import]) -> String {
    let steps = circle.iter().map(|import| {
        let Import {
            from,
            line,
            path,
            to,
        } = import;
        format!("{from}:{line} uses `{path}` of {to}")
    });
    format!(
        "circle: {}: move what both need into a file below them, or pass it as an argument",
        steps.collect::<Vec<_>>().join("; ")
    )
}
