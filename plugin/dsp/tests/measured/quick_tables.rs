//! A few takes of every table, held to the limits of the whole as far as so few can be.

use std::ops::{Range, RangeInclusive};

use crate::calibration::{self, sessions::Sessions};
use crate::measure::measure;
use crate::score::{Score, fewest};
use crate::table::{Row, report};
use crate::take::Spot;
use crate::{no_snare_microphone, simulated_kit};

/// One groove of every cell.
const SEEDS: RangeInclusive<u64> = 1_001..=1_001;
/// One room of every combination of cymbals, cable and microphones.
const ROOMS: Range<u64> = 1_008..1_020;
const SESSIONS: Sessions = Sessions {
    seeds: 1_100..1_101,
    rooms: 1_100..1_112,
    bars: 8,
};

/// Rows of few takes, pooled by their limit: as many right as an estimator at that limit shows in 99 runs of 100.
fn held_together(rows: &[Row]) -> Vec<String> {
    let mut limits: Vec<f64> = rows.iter().map(|row| row.least).collect();
    limits.sort_by(f64::total_cmp);
    limits.dedup();
    let pooled = limits.into_iter().filter_map(|least| {
        let mine = rows.iter().filter(|row| row.least == least);
        let score = Score::of(mine.flat_map(|row| &row.trials));
        let wanted = fewest(score.takes, least);
        let short = format!("rows of {least}: {wanted} wanted: {score}");
        (score.right < wanted).then_some(short)
    });
    pooled.collect()
}

#[test]
fn real_grooves() {
    let Some(rows) = no_snare_microphone::table(measure, &Spot::ALL, SEEDS) else {
        return;
    };
    let columns = no_snare_microphone::COLUMNS;
    let mut outside = report("no_snare_microphone_quick", columns, &rows);
    outside.extend(held_together(&rows));
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

#[test]
fn simulated_rooms() {
    let rows = simulated_kit::table(measure, &Spot::ALL, ROOMS);
    let mut outside = report("simulated_kit_quick", simulated_kit::COLUMNS, &rows);
    outside.extend(held_together(&rows));
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

#[test]
fn honesty() {
    calibration::held("calibration_quick", SESSIONS);
}
