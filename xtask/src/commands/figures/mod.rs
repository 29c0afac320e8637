//! `cargo xtask figures`: draws the figures of the mathematics' pages from the tables that the measured tests wrote.
//!
//! Promises that a figure shows what a run wrote and nothing else. Called by the command line; calls the sheet's chart and the
//! project's folders.

mod measured;
mod numbers;

use std::fs;
use std::path::Path;

use anyhow::Context;
use clap::Args;

use crate::failure::Outcome;
use crate::project::workspace::{Metadata, root};
use crate::sheet::{draw_chart, standalone};
use measured::{FIGURES, Figure};
use numbers::Numbers;

/// Where the figures go.
const FOLDER: &str = "docs/figures";

/// Options of `cargo xtask figures`.
#[derive(Args, Clone, Debug, Default)]
pub struct FiguresOptions {
    /// Only figures whose name contains this
    name: Option<String>,
}

/// Draws every figure whose tables are there; says which are not and what writes them.
pub fn run(options: &FiguresOptions) -> Outcome {
    let tables = Metadata::read()?.target_dir().join("measured");
    let wanted = |figure: &&Figure| {
        let part = options.name.as_deref().unwrap_or_default();
        figure.name.contains(part)
    };
    for figure in FIGURES.iter().filter(wanted) {
        match draw(figure, &tables)? {
            Some(path) => println!("{path}"),
            None => println!(
                "{} is not drawn: run cargo test -p plumbline-dsp --test measured {}",
                figure.name, figure.test
            ),
        }
    }
    Ok(())
}

/// One figure; `None` where a table that it needs was not written yet.
fn draw(figure: &Figure, tables: &Path) -> Outcome<Option<String>> {
    let mut found = Vec::new();
    for table in figure.tables {
        let path = tables.join(table).with_extension("csv");
        let Ok(text) = fs::read_to_string(&path) else {
            return Ok(None);
        };
        found
            .push(Numbers::read(&text).with_context(|| format!("cannot read {}", path.display()))?);
    }
    let series = (figure.series)(&found);
    let drawn = draw_chart(figure.title, figure.across, figure.up, &series);
    let path = format!("{FOLDER}/{}.svg", figure.name);
    fs::write(root().join(&path), standalone(&drawn))
        .with_context(|| format!("cannot write {path}"))?;
    Ok(Some(path))
}
