//! Each drum's own gap: the deciding spot's, those of the other spots, then what else was heard.

use serde::Serialize;

use super::aligned_take::AlignedTake;
use super::names::voice_name;
use super::spot_measurement::SpotMeasurement;
use super::units::Units;
use crate::audio::stem;

/// One drum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DrumGap {
    /// The spot's file name, or what an unnamed drum sounds like.
    pub name: String,
    /// Counted hits.
    pub hits: u32,
    /// Second minus first.
    pub gap_samples: f64,
    /// Standard error.
    pub spread_samples: f64,
}

/// The deciding spot's own drum, each further spot's, then the unnamed ones the deciding spot hears.
pub fn drum_gaps(take: &AlignedTake) -> Vec<DrumGap> {
    let names: Vec<String> = match take.files.spots.as_slice() {
        [] => vec!["hits".to_owned()],
        spots => spots.iter().map(|spot| stem(spot)).collect(),
    };
    let measurements = take.measured.spots.iter().zip(&names);
    let own = measurements.map(|(measurement, name)| own_drum(measurement, name, &take.units));
    let others = take.measured.spots[0]
        .voices
        .iter()
        .skip(1)
        .map(|voice| DrumGap {
            name: voice_name(voice.name, &names[0]),
            hits: voice.hits,
            gap_samples: take.units.samples(voice.gap_s),
            spread_samples: take.units.samples(voice.spread_s),
        });
    own.chain(others).collect()
}

fn own_drum(measurement: &SpotMeasurement, name: &str, units: &Units) -> DrumGap {
    let gap = measurement.gap.unwrap_or_default();
    DrumGap {
        name: name.to_owned(),
        hits: measurement.hits,
        gap_samples: units.samples(gap.attack_s),
        spread_samples: units.samples(gap.spread_s),
    }
}
