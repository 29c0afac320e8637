//! The links of the documents: every file and every heading that one names is there.

use std::path::Path;

use super::files::File;
use crate::manual::{headings, links};

/// Every link that leads nowhere.
pub fn findings(root: &Path, files: &[File]) -> Vec<String> {
    let documents = files.iter().filter(|file| file.path.ends_with(".md"));
    documents
        .flat_map(|document| {
            let broken = links(&document.text)
                .into_iter()
                .filter(|link| !leads(root, files, document, link));
            broken
                .map(|link| format!("{}: the link to {link} leads nowhere", document.path))
                .collect::<Vec<_>>()
        })
        .collect()
}

fn leads(root: &Path, files: &[File], document: &File, link: &str) -> bool {
    if link.contains("://") || link.starts_with("mailto:") {
        return true;
    }
    let (path, heading) = link.split_once('#').unwrap_or((link, ""));
    let to = match path {
        "" => document.path.clone(),
        path => resolved(document.folder(), path),
    };
    let text = files
        .iter()
        .find(|file| file.path == to)
        .map(|file| &file.text);
    root.join(&to).exists()
        && (heading.is_empty()
            || text.is_some_and(|text| headings(text).contains(&heading.to_owned())))
}

/// A path from a folder on, without dots.
fn resolved(folder: &str, path: &str) -> String {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in path.split('/') {
        match part {
            "." | "" => {}
            ".." => {
                parts.pop();
            }
            part => parts.push(part),
        }
    }
    parts.join("/")
}
