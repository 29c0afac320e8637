//! Fills the recall sheet from an aligned take and writes it.

use std::path::Path;

use anyhow::Context;

use super::drawing::signed;
use super::line_up;
use super::page::Sheet;
use super::table::{Extras, Table};
use crate::alignment::{AlignedTake, drum_gaps};
use crate::audio::stem;
use crate::failure::Outcome;
use crate::tape::LineUp;

/// Points of the drawn lag curve: two a pixel would not be seen.
const CURVE_POINTS: usize = 501;
/// The lag curve reaches at least this far, seconds.
const LEAST_REACH_S: f64 = 0.001;

/// Draws and writes the sheet.
///
/// # Errors
///
/// When the file cannot be written.
pub fn write(take: &AlignedTake, path: &Path, extras: Extras) -> Outcome {
    std::fs::write(path, html(take, extras))
        .with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

fn html(take: &AlignedTake, mut extras: Extras) -> String {
    let tape = take.settings.tape.as_ref().map(LineUp::of);
    extras.tables.extend(tape.as_ref().map(line_up::table));
    let measurement = take.measurement();
    let gap = measurement.gap.unwrap_or_default();
    let title = stem(take.files.overheads.paths()[0]);
    let reach_s = (1.6 * gap.attack_s.abs().max(gap.body_s.abs())).max(LEAST_REACH_S);
    Sheet {
        title: &title,
        drum: measurement.chosen_name().trim_start_matches("the "),
        units: take.units,
        length_s: take.measured.length_s,
        measurement: &measurement,
        gap,
        curve: &take.corrected.before.lag_curve(reach_s, CURVE_POINTS),
        before: &take.corrected.before.band_losses(),
        after: &take.corrected.after.band_losses(),
        mono_sum_gain_db: take.mono_sum_gain_db(),
        verdict: &take.verdict(),
        drums: drums(take),
        extras,
    }
    .html()
}

/// Each drum's own gap, before and after.
fn drums(take: &AlignedTake) -> Table {
    let applied = take.corrected.applied;
    let moved = take.units.samples(applied.second_s - applied.first_s);
    let rows = drum_gaps(take)
        .into_iter()
        .map(|drum| {
            let shown = |samples: Option<f64>| samples.map_or("-".to_owned(), |x| signed(x, 1));
            let after = drum.gap_samples.map(|gap| gap + moved);
            let spread = drum.spread_samples;
            vec![
                drum.name,
                drum.hits.to_string(),
                shown(drum.gap_samples),
                shown(after),
                spread.map_or(String::new(), |spread| format!("± {spread:.1}")),
            ]
        })
        .collect();
    let heads = ["drum", "hits", "gap", "after", "samples"]
        .map(str::to_owned)
        .to_vec();
    Table {
        caption: "Each drum's own gap, before and after".to_owned(),
        heads,
        rows,
    }
}
