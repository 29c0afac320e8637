//! The manual as one self-contained page: docs/manual.md with its pictures, and sound examples with their figures in it.
//!
//! Promises: every example is rendered by the built plugin from the demo's kit, ten seconds at one loudness, and what
//! stands beside it is computed from the file that is heard. Called by `manual`, `dist` and `tidy`. May use the rooms of the
//! file commands; `examples` is the list, `recipe` how one is made, `sound` a file that can be heard, `facts` what is
//! computed from it, `blocks` the numbers in docs/manual.md, `page` the HTML.

mod blocks;
mod examples;
mod facts;
mod markdown;
mod page;
mod recipe;
mod rendered;
mod sessions;
mod spectrum;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, anyhow};
use plumbline_hosting::Bundle;

use crate::failure::Outcome;
use crate::progress;
use crate::project::plugin;
use crate::project::workspace::{Metadata, root};
use examples::GROUPS;
use rendered::{LENGTH_S, LOUDNESS_LKFS, Rendered};
use sessions::Sessions;

pub use markdown::{headings, links};
pub use rendered::DOCUMENT;

/// What becomes of the numbers beside the examples in docs/manual.md.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Numbers {
    /// They are those of the files, or the manual is not rendered.
    Check,
    /// They are written anew.
    Write,
}

/// Renders every example and the page; returns where it is.
pub fn render(numbers: Numbers) -> Outcome<PathBuf> {
    let folder = Metadata::read()?.target_dir().join("manual");
    fs::create_dir_all(&folder).with_context(|| format!("cannot make {}", folder.display()))?;
    let rendered = examples(&folder)?;
    let path = root().join(DOCUMENT);
    let text =
        fs::read_to_string(&path).with_context(|| format!("cannot read {}", path.display()))?;
    let fresh = blocks::renewed(&text, &rendered)?;
    match numbers {
        Numbers::Write => {
            fs::write(&path, &fresh).with_context(|| format!("cannot write {}", path.display()))?
        }
        Numbers::Check if !blocks::same(&text, &fresh) => {
            return Err(anyhow!("{DOCUMENT}: a number beside an example is not its file's: cargo xtask manual --write").into());
        }
        Numbers::Check => {}
    }
    let page = folder.join("manual.html");
    let html = page::html(&fresh, &rendered, &root().join("docs"))?;
    fs::write(&page, html).with_context(|| format!("cannot write {}", page.display()))?;
    Ok(page)
}

/// What is stale in docs/manual.md without rendering anything: blocks that are missing or were made from another list.
pub fn stale(document: &str) -> Vec<String> {
    blocks::stale(document)
}

/// All examples in the order of the list, each beside the one that it is compared with.
fn examples(folder: &Path) -> Outcome<Vec<Rendered>> {
    let bundle = Bundle::load(plugin::built_clap()?)?;
    let sessions = Sessions::record(&bundle, folder)?;
    let bar = progress::bar("examples", None);
    let mut heard = BTreeMap::new();
    for example in GROUPS.iter().flat_map(|group| group.examples) {
        let raw = recipe::render(&bundle, &sessions, example, folder)?;
        let sound = raw.cut(LENGTH_S).at_loudness(LOUDNESS_LKFS)?;
        heard.insert(
            example.name,
            sound.through_file(&folder.join(format!("{}.flac", example.name)))?,
        );
    }
    bar.finish_and_clear();
    let all = GROUPS.iter().flat_map(|group| group.examples);
    Ok(all
        .map(|example| Rendered {
            example,
            sound: heard[example.name].clone(),
            facts: facts::of(example, &heard[example.name], &heard[example.against]),
        })
        .collect())
}

#[cfg(test)]
mod tests;
