//! Fills the recall sheet from a finished take and writes it.

use std::path::Path;

use anyhow::Context;

use crate::align::{Answer, Done};
use crate::failure::Outcome;
use crate::found::drum_words;
use crate::sheet::{More, Sheet, Table, signed};

/// Points of the drawn lag curve: two a pixel would not be seen.
const CURVE_POINTS: usize = 501;
/// The lag curve reaches at least this far, seconds.
const LEAST_REACH_S: f64 = 0.001;

/// Draws and writes the sheet.
pub fn write(done: &Done, path: &Path) -> Outcome {
    write_with(done, path, More::default())
}

/// The same with more on it.
pub fn write_with(done: &Done, path: &Path, more: More) -> Outcome {
    std::fs::write(path, html(done, more))
        .with_context(|| format!("cannot write {}", path.display()))?;
    Ok(())
}

fn html(done: &Done, more: More) -> String {
    let found = done.found();
    let gap = found.gap.unwrap_or_default();
    let spot = done.spot_name();
    let title = crate::align::stem(done.files.overheads.paths()[0]);
    let reach_s = (1.6 * gap.attack_s.abs().max(gap.body_s.abs())).max(LEAST_REACH_S);
    Sheet {
        title: &title,
        drum: drum_words(spot.as_deref()).trim_start_matches("the "),
        scale: done.scale,
        length_s: done.measured.length_s,
        found: &found,
        gap,
        curve: &done.corrected.before.lag_curve(reach_s, CURVE_POINTS),
        before: &done.corrected.before.band_losses(),
        after: &done.corrected.after.band_losses(),
        mono_sum_gain_db: done.mono_sum_gain_db(),
        verdict: &done.verdict(),
        drums: drums(done),
        more,
    }
    .html()
}

/// Each drum's own gap, before and after.
fn drums(done: &Done) -> Table {
    let voices = Answer::of(done).voices;
    let moved = done
        .scale
        .samples(done.corrected.applied.second_s - done.corrected.applied.first_s);
    let rows = voices
        .into_iter()
        .map(|voice| {
            let [before, after] =
                [voice.gap_samples, voice.gap_samples + moved].map(|samples| signed(samples, 1));
            vec![
                voice.name,
                voice.hits.to_string(),
                before,
                after,
                format!("± {:.1}", voice.spread_samples),
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
