//! The numbers beside the examples, as blocks of docs/manual.md between two comments.
//!
//! The first comment has the group's key and a digest of its list, so that a list that was changed without rendering shows.

use std::ops::Range;

use anyhow::anyhow;
use sha2::{Digest, Sha256};

use super::examples::{GROUPS, Group};
use super::rendered::{DOCUMENT, LENGTH_S, LOUDNESS_LKFS, Rendered};
use crate::failure::Outcome;
use crate::sheet::signed;

/// The comment behind a block.
const END: &str = "<!-- end of examples -->";
/// Two renders of one example may differ by this, and by this part of the number: another processor rounds otherwise.
const TOLERANCE: f64 = 0.11;
const RELATIVE_TOLERANCE: f64 = 0.02;

/// The document with every block made anew.
pub fn renewed(text: &str, rendered: &[Rendered]) -> Outcome<String> {
    let mut text = text.to_owned();
    for group in GROUPS {
        let place = place(&text, group.key)
            .ok_or_else(|| anyhow!("the manual has no place for \"{}\"", group.key))?;
        text.replace_range(place, &block(group, rendered));
    }
    Ok(text)
}

/// Where a group's block stands, both comments included.
pub fn place(text: &str, key: &str) -> Option<Range<usize>> {
    let from = text.find(&format!("<!-- examples {key} "))?;
    let to = from + text[from..].find(END)? + END.len();
    Some(from..to)
}

/// Groups whose block is missing or was made from another list.
pub fn stale(text: &str) -> Vec<String> {
    let stale = GROUPS.iter().filter(|group| match place(text, group.key) {
        None => true,
        Some(place) => !text[place].starts_with(&head(group)),
    });
    stale
        .map(|group| {
            format!(
                "{}: the examples \"{}\" are stale: cargo xtask manual --write",
                DOCUMENT, group.key
            )
        })
        .collect()
}

fn head(group: &Group) -> String {
    let list = format!("{LENGTH_S} {LOUDNESS_LKFS} {:?}", group.examples);
    let digest: String = Sha256::digest(list.as_bytes())
        .iter()
        .take(6)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    format!("<!-- examples {} {digest} -->", group.key)
}

fn block(group: &Group, rendered: &[Rendered]) -> String {
    let names: Vec<&str> = group.examples.iter().map(|example| example.name).collect();
    let rows: String = rendered
        .iter()
        .filter(|one| names.contains(&one.example.name))
        .map(|one| {
            format!(
                "| {} | {} | {} |\n",
                one.example.title,
                one.facts.said,
                signed(one.facts.peak_dbfs, 1)
            )
        })
        .collect();
    format!(
        "{}\n\n| example | what its file says | peak, dBFS |\n|---|---|---|\n{rows}\n{END}",
        head(group)
    )
}

/// The same words, and numbers that differ by no more than two renders of one example do.
pub fn same(text: &str, fresh: &str) -> bool {
    let (old, new): (Vec<&str>, Vec<&str>) = (
        text.split_whitespace().collect(),
        fresh.split_whitespace().collect(),
    );
    old.len() == new.len()
        && old
            .iter()
            .zip(&new)
            .all(|(old, new)| old == new || near(old, new))
}

fn near(old: &str, new: &str) -> bool {
    let number = |word: &str| -> Option<f64> {
        let bare: String = word
            .replace('−', "-")
            .chars()
            .filter(|c| !"(),".contains(*c))
            .collect();
        bare.parse().ok()
    };
    match (number(old), number(new)) {
        (Some(old), Some(new)) => (old - new).abs() <= TOLERANCE + RELATIVE_TOLERANCE * new.abs(),
        _ => false,
    }
}
