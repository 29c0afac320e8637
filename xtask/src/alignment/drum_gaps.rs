//! Each drum's own gap and what its mono sum loses: the one that is aligned, then what else was heard.

use plumbline_dsp::measurement::{Drum, DrumKind, Lag, Polarity};
use serde::Serialize;

use super::aligned_take::AlignedTake;
use super::names::polarity_name;
use super::spot_measurement::SpotMeasurement;

/// One drum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DrumGap {
    /// What the drum sounds like.
    pub name: String,
    /// Counted hits.
    pub hits: u32,
    /// Second minus first; null where no fronts were found.
    pub gap_samples: Option<f64>,
    /// Standard error.
    pub spread_samples: Option<f64>,
    /// Probability of an error under 1 cm of air, 0 to 1.
    pub confidence: f64,
    /// "same", "reversed" or "undecided".
    pub polarity: &'static str,
    /// What the mono sum of its strokes loses as recorded, dB; null where its gap is beyond 1.5 m.
    pub mono_loss_before_db: Option<f64>,
    /// The same after the correction.
    pub mono_loss_after_db: Option<f64>,
}

/// The drum that is aligned, then the others that are heard; each of them once.
pub fn drum_gaps(take: &AlignedTake) -> Vec<DrumGap> {
    let deciding = &take.measured.spots[0];
    let chosen = deciding.chosen();
    let others = deciding.drums.iter();
    let others = others.filter(|drum| chosen.is_none_or(|chosen| chosen.number != drum.number));
    let all = chosen.into_iter().chain(others);
    all.map(|drum| drum_gap(take, deciding, drum)).collect()
}

/// A further close microphone that stands at the drum says its gap best.
fn surest(take: &AlignedTake, drum: &Drum) -> Option<Lag> {
    let further = take.measured.spots.iter().skip(1);
    let own = further.filter_map(SpotMeasurement::spots_own);
    let same = own.filter(|own| own.kind == drum.kind && own.kind != DrumKind::Other);
    let gaps = same.filter_map(|own| own.gap).chain(drum.gap);
    gaps.max_by(|a, b| a.confidence.total_cmp(&b.confidence))
}

fn drum_gap(take: &AlignedTake, deciding: &SpotMeasurement, drum: &Drum) -> DrumGap {
    let is_chosen = deciding
        .chosen()
        .is_some_and(|chosen| chosen.number == drum.number);
    let gap = if is_chosen {
        drum.gap
    } else {
        surest(take, drum)
    };
    let samples =
        |seconds: fn(&Lag) -> f64| gap.as_ref().map(|gap| take.units.samples(seconds(gap)));
    let mut saved = take.corrected.drums.iter();
    let saved = saved.find(|saved| saved.number == drum.number);
    DrumGap {
        name: deciding.name(drum).to_string(),
        hits: drum.hits,
        gap_samples: samples(|gap| gap.attack_s),
        spread_samples: samples(|gap| gap.spread_s),
        confidence: gap.map_or(0.0, |gap| gap.confidence),
        polarity: polarity_name(gap.map_or(Polarity::Undecided, |gap| gap.polarity)),
        mono_loss_before_db: saved.and_then(|saved| saved.mono_loss_recorded_db),
        mono_loss_after_db: saved.and_then(|saved| saved.mono_loss_db),
    }
}
