//! Sessions of every kind, real and simulated, each heard through one spot after another.

use std::collections::BTreeSet;
use std::ops::Range;

use plumbline_dsp::measurement::Polarity;

use crate::measure::measure;
use crate::no_snare_microphone::grooves;
use crate::real_grooves::{Cable, GrooveSettings, Pair, strokes};
use crate::score::Trial;
use crate::simulated_kit::{LEVELS_DB, SimulatedKit};
use crate::support::parallel;
use crate::take::{Spot, Take};

/// Where a session comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Near,
    Far,
    Simulated,
}

impl Kind {
    pub const ALL: [Self; 3] = [Self::Near, Self::Far, Self::Simulated];
}

/// Every kind of real groove with every seed, every simulated room at every level.
#[derive(Clone)]
pub struct Sessions {
    pub seeds: Range<u64>,
    pub rooms: Range<u64>,
    pub bars: usize,
}

pub struct Measured {
    pub kind: Kind,
    /// What is played, in words without commas.
    what: String,
    seed: u64,
    spot: Spot,
    pub trial: Trial,
}

impl Sessions {
    /// `None` without recordings.
    pub fn measured(&self) -> Option<Vec<Measured>> {
        let mut measured = self.real()?;
        measured.extend(self.simulated());
        Some(measured)
    }

    /// Odd seeds have a reversed cable; the spot changes from one to the next.
    fn real(&self) -> Option<Vec<Measured>> {
        let strokes = strokes()?;
        let kinds = grooves().into_iter().enumerate();
        let settings: Vec<(usize, GrooveSettings)> = kinds
            .flat_map(|(number, (style, pair, cymbals))| {
                self.seeds.clone().map(move |seed| {
                    let settings = GrooveSettings {
                        style,
                        pair,
                        cymbals,
                        seed,
                        bars: self.bars,
                        second: if seed % 2 == 1 {
                            Cable::Reversed
                        } else {
                            Cable::AsRecorded
                        },
                        ..GrooveSettings::default()
                    };
                    (number + seed as usize, settings)
                })
            })
            .collect();
        Some(parallel(&settings, |(turn, settings)| {
            let kind = match settings.pair {
                Pair::Near => Kind::Near,
                Pair::Far => Kind::Far,
            };
            let what = format!("{:?} x{}", settings.style, settings.cymbals);
            let take = strokes.groove(settings);
            Measured::new(kind, what, settings.seed, Spot::ALL[turn % 3], &take)
        }))
    }

    fn simulated(&self) -> impl Iterator<Item = Measured> {
        let kits = self.rooms.clone().map(|room| SimulatedKit {
            bars: self.bars,
            ..SimulatedKit::numbered(room)
        });
        let kits: Vec<SimulatedKit> = kits.collect();
        let measured = parallel(&kits, |kit| {
            let takes = kit.takes();
            let each = takes
                .iter()
                .zip(LEVELS_DB)
                .enumerate()
                .map(|(number, (take, level))| {
                    let what = format!("{:?} {level:+} dB {:?}", kit.cymbals, kit.microphones);
                    // Cymbals change from room to room: the spot changes with every third.
                    let turn = (kit.room / 3) as usize + number;
                    Measured::new(Kind::Simulated, what, kit.room, Spot::ALL[turn % 3], take)
                });
            each.collect::<Vec<Measured>>()
        });
        measured.into_iter().flatten()
    }
}

impl Measured {
    pub const HEADER: &str = "kind,what,seed,spot,rate,truth,answered,error,spread,confidence,within_1cm,right,polarity_right";

    fn new(kind: Kind, what: String, seed: u64, spot: Spot, take: &Take) -> Self {
        Self {
            kind,
            what,
            seed,
            spot,
            trial: take.tried(measure, spot),
        }
    }

    /// One line under [`Self::HEADER`] and the features' names; what is not there is empty.
    pub fn csv(&self, features: &BTreeSet<&str>) -> String {
        let trial = &self.trial;
        let answer = trial.answer.as_ref();
        let number = |x: Option<f64>| x.map_or(String::new(), |x| format!("{x:.5}"));
        let yes = |x: bool| u8::from(x);
        let mut line = format!(
            "{:?},{},{},{:?},{},{:.4},{},{},{},{},{},{},{}",
            self.kind,
            self.what,
            self.seed,
            self.spot,
            trial.rate,
            trial.truth.gap,
            yes(answer.is_some()),
            number(trial.error()),
            number(answer.map(|answer| answer.spread_samples)),
            number(answer.map(|answer| answer.confidence)),
            yes(trial.known()),
            yes(trial.within(trial.truth.tolerance)),
            yes(answer.is_some_and(|answer| answer.polarity == trial.polarity))
        );
        for name in features {
            let feature = answer.and_then(|answer| {
                let mut mine = answer.features.iter().filter(|(other, _)| other == name);
                mine.next().map(|(_, value)| *value)
            });
            line += &format!(",{}", number(feature));
        }
        line
    }
}

/// Turning the cable and the spot leaves no combination out.
#[test]
fn every_kind_meets_every_spot() {
    let rooms = (1_000..1_036).map(SimulatedKit::numbered);
    let met = rooms.map(|kit| {
        let inverted = kit.polarity == Polarity::Inverted;
        (format!("{:?}", kit.cymbals), inverted, (kit.room / 3) % 3)
    });
    let met: BTreeSet<_> = met.collect();
    assert_eq!(met.len(), 3 * 2 * 3);
}
