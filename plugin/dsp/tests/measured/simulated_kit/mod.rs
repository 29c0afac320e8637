//! Whole kits in two hundred simulated rooms, the snare's gap known to a fraction, under cymbals as loud as its attack.
//!
//! Promises the same take for the same seed, and its truth by geometry alone. Called by the tables; calls what all measured tests
//! share.

mod heard;
mod pattern;
mod room;
mod strokes;

use std::ops::Range;

use plumbline_dsp::measurement::Polarity;

use crate::baselines::{cross_correlation, phase_transform};
use crate::measure::measure;
use crate::score::{Score, Trial};
use crate::support::parallel;
use crate::table::{Row, report};
use crate::take::{Estimator, Spot, Take};

pub use heard::Heard;

/// Samples a second of every take.
pub const RATE: f64 = 48_000.0;
/// Rooms of the whole table. No estimator was built, fitted or looked at with them: for that there are those from 1000 on.
const KEPT_ASIDE: Range<u64> = 1..201;
/// Cymbals over the snare's attack, dB.
pub const LEVELS_DB: [f64; 2] = [0.0, 10.0];
/// Least part of right answers at each of [`LEVELS_DB`]. 0.95 is wanted at both; under cymbals 10 dB over the snare's attack 0.6 is
/// what is reached, and less without any spot under a wash.
const LEAST: [f64; LEVELS_DB.len()] = [0.95, 0.6];
/// Largest part of wrong answers that claim a half or more: none is wanted, one in ten is what is reached there.
const WRONG_AND_SURE: [f64; LEVELS_DB.len()] = [0.0, 0.1];

/// What sounds with the drums.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cymbals {
    /// Closed hats in eighths, timed by another limb.
    Hats,
    /// A ride on every beat, within a millisecond of kick and snare.
    Ride,
    /// One unbroken wash.
    Wash,
}

impl Cymbals {
    const ALL: [Self; 3] = [Self::Hats, Self::Ride, Self::Wash];
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Microphones {
    Equal,
    /// Each through three random equaliser bands of up to 4 dB.
    Unequal,
}

#[derive(Clone, Copy, Debug)]
pub struct SimulatedKit {
    /// Seed of the room, of what is played and of every noise.
    pub room: u64,
    pub bars: usize,
    pub cymbals: Cymbals,
    /// Second against first.
    pub polarity: Polarity,
    pub microphones: Microphones,
}

impl SimulatedKit {
    /// Room after room, every combination of cymbals, cable and microphones comes in turn.
    pub fn numbered(room: u64) -> Self {
        let odd = |number: u64| number % 2 == 1;
        Self {
            room,
            bars: 8,
            cymbals: Cymbals::ALL[(room % 3) as usize],
            polarity: if odd(room / 3) {
                Polarity::Inverted
            } else {
                Polarity::Same
            },
            microphones: if odd(room / 6) {
                Microphones::Unequal
            } else {
                Microphones::Equal
            },
        }
    }

    /// The take at each of [`LEVELS_DB`].
    pub fn takes(self) -> [Take; LEVELS_DB.len()] {
        let heard = Heard::new(self);
        LEVELS_DB.map(|level| heard.mixed(level))
    }
}

/// Measures every room at both levels; one row for each kind of cymbals, level and spot.
pub fn table(estimator: Estimator, spots: &[Spot], rooms: Range<u64>) -> Vec<Row> {
    let kits: Vec<SimulatedKit> = rooms.map(SimulatedKit::numbered).collect();
    let tried: Vec<Vec<Vec<Trial>>> = parallel(&kits, |kit| {
        let takes = kit.takes();
        let each = |take: &Take| {
            spots
                .iter()
                .map(|spot| take.tried(estimator, *spot))
                .collect()
        };
        takes.iter().map(each).collect()
    });
    let mut rows = Vec::new();
    for cymbals in Cymbals::ALL {
        for (level, decibels) in LEVELS_DB.iter().enumerate() {
            for (number, spot) in spots.iter().enumerate() {
                let mine = kits.iter().zip(&tried);
                let mine = mine.filter(|(kit, _)| kit.cymbals == cymbals);
                rows.push(Row {
                    kind: format!("{cymbals:?},{decibels:+},{spot:?}"),
                    trials: mine
                        .map(|(_, tried)| tried[level][number].clone())
                        .collect(),
                    least: LEAST[level],
                    wrong_and_sure: WRONG_AND_SURE[level],
                });
            }
        }
    }
    rows
}

pub const COLUMNS: &str = "cymbals,cymbals_db,spot";

/// Polarity is held as the gap is: nothing but right.
fn polarity_wrong(rows: &[Row]) -> impl Iterator<Item = String> {
    rows.iter().filter_map(|row| {
        let score = row.score();
        let wrong = score.polarity < score.takes;
        wrong.then(|| format!("{}: polarity: {score}", row.kind))
    })
}

/// Two hundred rooms at two levels of cymbals with three kinds of input.
#[test]
#[ignore = "whole table, 1200 measurements: cargo xtask test --full"]
fn two_hundred_rooms() {
    let rows = table(measure, &Spot::ALL, KEPT_ASIDE);
    let mut outside = report("simulated_kit", COLUMNS, &rows);
    outside.extend(rows.iter().filter_map(Row::held_exactly));
    outside.extend(polarity_wrong(&rows));
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

/// What the pair says without any knowledge of drums, for comparison; no limits.
#[test]
#[ignore = "whole table, 800 measurements: cargo xtask test --full"]
fn two_hundred_rooms_of_baselines() {
    let baselines: [(&str, Estimator); 2] = [
        ("simulated_kit_correlation", cross_correlation),
        ("simulated_kit_phase_transform", phase_transform),
    ];
    for (name, estimator) in baselines {
        println!("{name}");
        report(name, COLUMNS, &table(estimator, &[Spot::None], KEPT_ASIDE));
    }
}

/// The simulation from end to end: cymbals 60 dB down, the snare's own microphone, and the gap is where the rooms say.
#[test]
fn the_snare_is_where_the_room_says() {
    let kits: Vec<SimulatedKit> = (1_000..1_006).map(SimulatedKit::numbered).collect();
    let trials = parallel(&kits, |kit| {
        Heard::new(*kit).mixed(-60.0).tried(measure, Spot::Snare)
    });
    let score = Score::of(trials.iter());
    for trial in &trials {
        println!("true {:.2}, {:?}", trial.truth.gap, trial.answer);
    }
    assert!(
        score.right == score.takes && score.polarity == score.takes,
        "{score}"
    );
}

/// A ride 10 dB over the snare's attack, on every beat of kick and snare: what is measured is the snare still.
#[test]
fn the_snare_under_a_loud_ride_is_the_drum() {
    let kits: Vec<SimulatedKit> = (1_000..1_012)
        .map(SimulatedKit::numbered)
        .filter(|kit| kit.cymbals == Cymbals::Ride)
        .collect();
    let named = parallel(&kits, |kit| {
        let take = Heard::new(*kit).mixed(10.0);
        [Spot::None, Spot::Kick].map(|spot| take.tried(measure, spot).answer)
    });
    for answer in named.into_iter().flatten() {
        assert_eq!(answer.expect("a verdict").drum, "Snare");
    }
}
