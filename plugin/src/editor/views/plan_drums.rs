//! Where the drums are on the plan: those that the spot's two gaps place, and for orientation those that nobody measured.

use super::plan_layout::{PlanLayout, Scale};
use super::usual_kit::{USUAL, Usual, usual};
use crate::editor::frame::{Channels, Frame};
use egui::{Vec2, vec2};
use plumbline_dsp::measurement::{Drum, DrumKind};

/// Radius of a drum that was measured, cm.
const MEASURED_CM: f32 = 15.0;
/// A drum is looked for so far from the snare, cm, and in these steps.
const SEARCHED_CM: i32 = 150;
const STEP_CM: i32 = 5;
/// Both gaps must be met this well, cm: what the plan's own places are worth.
const MET_CM: f32 = 6.0;

/// Whether a drum's place was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// By its gaps to the spot.
    Measured,
    /// Where it usually stands.
    Orientation,
}

/// One drum of the plan beside the one that is aligned.
pub struct PlacedDrum {
    /// From the snare's middle, cm right and down as its player sees it.
    pub place_cm: Vec2,
    pub radius_cm: f32,
    pub name: String,
    pub source: Source,
}

/// All drums of the plan but the one that is aligned.
pub fn placed_drums(layout: &PlanLayout, frame: &Frame) -> Vec<PlacedDrum> {
    let measured = match (frame.activation.channels, layout.worth) {
        (Channels::Mono, _) | (_, Scale::Unknown) => Vec::new(),
        (Channels::Pair, Scale::Assumed | Scale::Measured) => measured_drums(layout, frame),
    };
    let near = |usual: &Usual| {
        let place = usual.place();
        let mut measured = measured.iter();
        measured.any(|drum| (drum.place_cm - place).length() < usual.radius_cm + MEASURED_CM)
    };
    let around_the_snare = match frame.measurement().chosen() {
        Some(drum) => !matches!(drum.kind, DrumKind::Kick | DrumKind::Tom | DrumKind::Cymbal),
        None => true,
    };
    let usual = USUAL
        .iter()
        .filter(|usual| around_the_snare && !near(usual));
    let usual = usual.map(|usual| PlacedDrum {
        place_cm: usual.place(),
        radius_cm: usual.radius_cm,
        name: usual.name.to_owned(),
        source: Source::Orientation,
    });
    let all: Vec<PlacedDrum> = usual.collect();
    all.into_iter().chain(measured).collect()
}

fn measured_drums(layout: &PlanLayout, frame: &Frame) -> Vec<PlacedDrum> {
    let measurement = frame.measurement();
    let chosen = measurement.chosen().map(|drum| drum.number);
    let spot_cm = match measurement.spots_own() {
        Some(own) if Some(own.number) == chosen => Vec2::ZERO,
        Some(own) => match usual(own.kind) {
            Some(usual) => usual.place(),
            None => return Vec::new(),
        },
        None => return Vec::new(),
    };
    let own = measurement.spots_own().map(|own| own.number);
    let others = measurement.drums().iter();
    let others = others.filter(|drum| Some(drum.number) != chosen);
    let placed = others.filter_map(|drum| {
        let (place_cm, source) = match Some(drum.number) == own {
            true => (spot_cm, Source::Orientation),
            false => (placed(layout, frame, drum, spot_cm)?, Source::Measured),
        };
        Some(PlacedDrum {
            place_cm,
            radius_cm: MEASURED_CM,
            name: frame.drum_name(drum),
            source,
        })
    });
    placed.collect()
}

/// The place whose ways to both microphones are longer than that to the spot by the two measured gaps.
fn placed(layout: &PlanLayout, frame: &Frame, drum: &Drum, spot_cm: Vec2) -> Option<Vec2> {
    let air = frame.air();
    let gaps_cm =
        [drum.spot_to_first?, drum.spot_to_second?].map(|lag| air.cm(lag.attack_s) as f32);
    let off_cm = |place: Vec2| {
        let to_spot = (place - spot_cm).length();
        let ways = layout
            .microphones_cm
            .map(|microphone| (place - microphone).length() - to_spot);
        let off = [0, 1].map(|channel: usize| (ways[channel] - gaps_cm[channel]).abs());
        off[0].max(off[1])
    };
    let steps = (-SEARCHED_CM..=SEARCHED_CM).step_by(STEP_CM as usize);
    let places = steps.clone().flat_map(|right| {
        steps
            .clone()
            .map(move |down| vec2(right as f32, down as f32))
    });
    let nearest = places.min_by(|a, b| off_cm(*a).total_cmp(&off_cm(*b)))?;
    (off_cm(nearest) < MET_CM).then_some(nearest)
}
