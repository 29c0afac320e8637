//! Each drum's own gap: the one that is aligned, those of the further spots, then what else was heard.

use plumbline_dsp::measurement::{Drum, Lag, Polarity};
use serde::Serialize;

use super::aligned_take::AlignedTake;
use super::names::polarity_name;
use super::units::Units;
use crate::audio::stem;

/// One drum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DrumGap {
    /// A further spot's file name, or what the drum sounds like.
    pub name: String,
    /// Counted hits.
    pub hits: u32,
    /// Second minus first; null where no fronts were found.
    pub gap_samples: Option<f64>,
    /// Standard error.
    pub spread_samples: Option<f64>,
    /// Probability of an error under 1 cm of air, 0 to 1.
    pub confidence: f64,
    /// "same", "inverted" or "undecided".
    pub polarity: &'static str,
}

/// The drum that is aligned, each further spot's own, then the others that are heard.
pub fn drum_gaps(take: &AlignedTake) -> Vec<DrumGap> {
    let deciding = &take.measured.spots[0];
    let row = |drum: &Drum| drum_gap(drum, deciding.name(drum).to_string(), &take.units);
    let chosen = deciding.chosen();
    let spots = take.measured.spots.iter().zip(&take.files.spots).skip(1);
    let further = spots.filter_map(|(measurement, file)| {
        let own = measurement.spots_own().or(measurement.chosen())?;
        Some(drum_gap(own, stem(file), &take.units))
    });
    let others = deciding.drums.iter();
    let others = others.filter(|drum| chosen.is_none_or(|chosen| chosen.number != drum.number));
    let rows = chosen.map(row).into_iter().chain(further);
    rows.chain(others.map(row)).collect()
}

fn drum_gap(drum: &Drum, name: String, units: &Units) -> DrumGap {
    let samples =
        |seconds: fn(&Lag) -> f64| drum.gap.as_ref().map(|gap| units.samples(seconds(gap)));
    DrumGap {
        name,
        hits: drum.hits,
        gap_samples: samples(|gap| gap.attack_s),
        spread_samples: samples(|gap| gap.spread_s),
        confidence: drum.gap.map_or(0.0, |gap| gap.confidence),
        polarity: polarity_name(drum.gap.map_or(Polarity::Undecided, |gap| gap.polarity)),
    }
}
