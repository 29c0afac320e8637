//! The snare's gap when the snare has no microphone of its own: grooves of real strokes under ever louder cymbals.

use std::ops::RangeInclusive;

use crate::baselines::{cross_correlation, phase_transform};
use crate::measure::measure;
use crate::real_grooves::{Drum, GrooveSettings, Pair, Style, cells, strokes};
use crate::score::{Score, Trial, fewest};
use crate::support::{parallel, write_lines};
use crate::table::{Row, report};
use crate::take::{Estimator, Spot};

/// Seeds of the whole table. No estimator was built, fitted or looked at with them: for that there are those from 1000 on.
const KEPT_ASIDE: RangeInclusive<u64> = 1..=20;
/// Gains of the cymbals: as recorded, +6 and +12 dB.
const GAINS: [f64; 3] = [1.0, 2.0, 4.0];
/// One cell of the table.
#[derive(Clone, Copy)]
struct Cell {
    style: Style,
    pair: Pair,
    cymbals: f64,
    spot: Spot,
}

impl Cell {
    /// Least part of right answers.
    fn least(self) -> f64 {
        if self.cymbals > 2.0 { 0.90 } else { 0.95 }
    }

    fn name(self) -> String {
        let decibels = (20.0 * self.cymbals.log10()).round();
        format!(
            "{:?},{:?},{decibels:+},{:?}",
            self.pair, self.style, self.spot
        )
    }
}

/// Every style, gain and pair; a plain groove has no cymbals to raise.
pub fn grooves() -> Vec<(Style, Pair, f64)> {
    let gains = |(style, pair)| {
        let gains = GAINS.into_iter();
        let gains = gains.filter(move |gain| style != Style::Plain || *gain == 1.0);
        gains.map(move |gain| (style, pair, gain))
    };
    cells().flat_map(gains).collect()
}

/// Measures every cell with every seed; one row a cell and spot. `None` without recordings.
pub fn table(estimator: Estimator, spots: &[Spot], seeds: RangeInclusive<u64>) -> Option<Vec<Row>> {
    let strokes = strokes()?;
    let grooves = grooves();
    let takes: Vec<GrooveSettings> = grooves
        .iter()
        .flat_map(|(style, pair, cymbals)| {
            seeds.clone().map(|seed| GrooveSettings {
                style: *style,
                pair: *pair,
                cymbals: *cymbals,
                seed,
                ..GrooveSettings::default()
            })
        })
        .collect();
    let tried = parallel(&takes, |settings| {
        let take = strokes.groove(settings);
        let trials = spots.iter().map(|spot| take.tried(estimator, *spot));
        trials.collect::<Vec<Trial>>()
    });
    let each = seeds.count();
    let mut rows = Vec::new();
    for ((style, pair, cymbals), tried) in grooves.into_iter().zip(tried.chunks(each)) {
        for (number, spot) in spots.iter().enumerate() {
            let cell = Cell {
                style,
                pair,
                cymbals,
                spot: *spot,
            };
            let trials = tried.iter().map(|trials| trials[number].clone()).collect();
            rows.push(Row {
                kind: cell.name(),
                trials,
                least: cell.least(),
                wrong_and_sure: 0.0,
            });
        }
    }
    Some(rows)
}

pub const COLUMNS: &str = "pair,style,cymbals_db,spot";

/// Twenty seeds a cell.
#[test]
#[ignore = "whole table, 1200 measurements: cargo xtask test --full"]
fn whole_table() {
    let Some(rows) = table(measure, &Spot::ALL, KEPT_ASIDE) else {
        return;
    };
    let mut outside = report("no_snare_microphone", COLUMNS, &rows);
    outside.extend(rows.iter().filter_map(Row::held_exactly));
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

/// What the pair says without any knowledge of drums, for comparison; no limits.
#[test]
#[ignore = "whole table, 800 measurements: cargo xtask test --full"]
fn whole_table_of_baselines() {
    let baselines: [(&str, Estimator); 2] = [
        ("no_snare_microphone_correlation", cross_correlation),
        ("no_snare_microphone_phase_transform", phase_transform),
    ];
    for (name, estimator) in baselines {
        println!("{name}");
        let Some(rows) = table(estimator, &[Spot::None], KEPT_ASIDE) else {
            return;
        };
        report(name, COLUMNS, &rows);
    }
}

/// Kick and closed hats alone, with the kick's microphone.
fn kick_under_hats(name: &str, seeds: RangeInclusive<u64>) -> Option<Score> {
    let strokes = strokes()?;
    let seeds: Vec<u64> = seeds.collect();
    let trials = parallel(&seeds, |seed| {
        let settings = GrooveSettings {
            style: Style::Hats,
            seed: *seed,
            drums: &[Drum::Kick, Drum::ClosedHat],
            ..GrooveSettings::default()
        };
        strokes.groove(&settings).tried(measure, Spot::Kick)
    });
    let score = Score::of(trials.iter());
    println!("kick under hats: {score}");
    write_lines(name, &[Score::HEADER.to_string(), score.csv()]);
    Some(score)
}

#[test]
fn kick_under_hats_few() {
    let Some(score) = kick_under_hats("kick_under_hats_quick", 1_001..=1_010) else {
        return;
    };
    assert!(score.right >= fewest(score.takes, 0.95), "{score}");
}

#[test]
#[ignore = "whole table, 100 measurements: cargo xtask test --full"]
fn kick_under_hats_whole() {
    let Some(score) = kick_under_hats("kick_under_hats", 1..=100) else {
        return;
    };
    assert!(score.right >= 95, "{score}");
}
