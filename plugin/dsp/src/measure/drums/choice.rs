//! Which drum is aligned: asked for, or chosen from what the drums sound like and where the spot stands.

use crate::channels::Inputs;
use crate::measure::drums::naming::{Features, Most, likeliest as likeliest_kind};
use crate::measurement::{DrumKind, Signature, Why};

/// What is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum DrumChoice {
    /// The spot's own drum unless that is the kick, else the snare, else the spot's own or the one with most hits. Of a single
    /// channel that is a close microphone, its own drum.
    #[default]
    Auto,
    /// The likeliest snare.
    Snare,
    /// The likeliest kick.
    Kick,
    /// The likeliest tom.
    Tom,
    /// The drum that sounds like this.
    Picked(Signature),
    /// The drum that most strokes of this time were played on, by these strokes alone.
    Strokes {
        /// Seconds of audio since the analyser was made or cleared.
        from_s: f64,
        /// Seconds, after `from_s`.
        to_s: f64,
    },
}

/// A drum that may be chosen.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Candidate {
    pub features: Features,
    pub probabilities: [f32; 4],
    /// Strokes inside the time asked for.
    pub inside: usize,
    /// It is the one chosen so far.
    pub current: bool,
}

impl Candidate {
    pub(crate) fn nothing() -> Self {
        Self {
            features: Features::default(),
            probabilities: [0.0; 4],
            inside: 0,
            current: false,
        }
    }
}

/// What was chosen: place among the candidates, why, and how far it stands ahead of the next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Chosen {
    pub place: usize,
    pub why: Why,
    pub margin: f64,
}

/// A picked drum is found again within this: levels of a drum differ by 2 to 3 dB from take to take, drums by 8 and more.
const SAME_DRUM_DB: f32 = 6.0;
/// The spot stands at the drum that it hears by so much more than any other, dB.
const OWN_DB: f64 = 3.0;
/// A spot that is farther than this from the drum it hears best hears them all: dB against the overheads.
const AWAY_DB: f64 = -20.0;
/// In a kick's own microphone the shell is at least as loud as this against the body, dB.
const KICK_SHELL_DB: f64 = -3.0;
/// The drum chosen so far stays unless another is ahead by this (odds of e to one).
const STAYS: f64 = 1.0;
/// A snare is heard when one drum is a snare with at least this probability.
const HEARD: f32 = 0.25;
/// Drums with less than this part of the most strokes are not the spot's own.
const OFTEN: f64 = 0.34;

/// Chooses among drums that were heard.
pub(crate) fn choose(asked: DrumChoice, inputs: Inputs, drums: &[Candidate]) -> Option<Chosen> {
    let channels_own = || match inputs {
        Inputs::MonoAndSpot => channels_own(drums),
        Inputs::Pair | Inputs::PairAndSpot => None,
    };
    match asked {
        DrumChoice::Auto => channels_own().or_else(|| auto(drums)),
        DrumChoice::Snare => {
            snare(drums, 0.0).map(|chosen| by_kind(chosen, drums, DrumKind::Snare))
        }
        DrumChoice::Kick => {
            likeliest(drums, 1).map(|chosen| by_kind(chosen, drums, DrumKind::Kick))
        }
        DrumChoice::Tom => likeliest(drums, 2).map(|chosen| by_kind(chosen, drums, DrumKind::Tom)),
        DrumChoice::Picked(signature) => picked(drums, &signature),
        DrumChoice::Strokes { .. } => struck(drums),
    }
}

fn auto(drums: &[Candidate]) -> Option<Chosen> {
    let own = spots_own(drums);
    if let Some(own) = own
        && !is_kick(&drums[own.place])
    {
        return Some(own);
    }
    let snare = snare(drums, own.map_or(0.0, |_| 3.0));
    if let Some(chosen) = snare
        && drums[chosen.place].probabilities[0] >= HEARD
    {
        return Some(chosen);
    }
    own.or_else(|| most_hits(drums))
}

/// The drum that the spot hears most against the overheads, if one stands out.
pub(crate) fn spots_own(drums: &[Candidate]) -> Option<Chosen> {
    let most = most(drums);
    let often = |drum: &Candidate| drum.features.effective >= OFTEN * most.strokes;
    let near = |drum: &Candidate| {
        let stays = if drum.current { STAYS } else { 0.0 };
        if often(drum) {
            drum.features.near_db() + stays
        } else {
            f64::NEG_INFINITY
        }
    };
    let (place, margin) = highest(drums, near)?;
    let stands_out = margin >= OWN_DB && drums[place].features.near_db() > AWAY_DB;
    stands_out.then_some(Chosen {
        place,
        why: Why::SpotsOwn,
        margin: margin / OWN_DB,
    })
}

/// The drum that a single channel stands at, where the channel and not the spot is the close microphone: one drum is louder
/// than all others in it by more than in the spot.
fn channels_own(drums: &[Candidate]) -> Option<Chosen> {
    let (_, in_spot) = highest(drums, |drum| drum.features.level_in_spot_db())?;
    let (place, in_channel) = highest(drums, |drum| drum.features.level_db())?;
    let (nearest, margin) = highest(drums, |drum| -drum.features.near_db())?;
    let is_close = in_channel >= in_spot + OWN_DB && nearest == place && margin >= OWN_DB;
    is_close.then_some(Chosen {
        place,
        why: Why::ChannelsOwn,
        margin: margin / OWN_DB,
    })
}

/// In its own microphone a kick is mostly shell, or the overheads hear that it is one.
fn is_kick(drum: &Candidate) -> bool {
    let in_spot = |band: usize| drum.features.spot_db[band] + drum.features.bands_db[band];
    let shell = in_spot(0) - in_spot(1) > KICK_SHELL_DB;
    shell || likeliest_kind(&drum.probabilities) == DrumKind::Kick
}

/// The likeliest snare; `kick_spot` is taken from the drum that a kick's microphone hears most.
fn snare(drums: &[Candidate], kick_spot: f64) -> Option<Chosen> {
    let most = most(drums);
    let nearest = drums
        .iter()
        .map(|d| d.features.near_db())
        .fold(-200.0, f64::max);
    let score = |drum: &Candidate| {
        let stays = if drum.current { STAYS } else { 0.0 };
        let kick = if drum.features.near_db() >= nearest {
            kick_spot
        } else {
            0.0
        };
        drum.features.snare(most) + stays - kick
    };
    let (place, margin) = highest(drums, score)?;
    Some(Chosen {
        place,
        why: Why::Snare,
        margin,
    })
}

fn likeliest(drums: &[Candidate], kind: usize) -> Option<Chosen> {
    let score = |drum: &Candidate| {
        let stays = if drum.current { STAYS } else { 0.0 };
        let odds = f64::from(drum.probabilities[kind].max(1e-6)).ln();
        odds + drum.features.effective.min(8.0).ln() + stays
    };
    let (place, margin) = highest(drums, score)?;
    Some(Chosen {
        place,
        why: Why::Asked,
        margin,
    })
}

fn by_kind(chosen: Chosen, drums: &[Candidate], kind: DrumKind) -> Chosen {
    let place = crate::measurement::KINDS.iter().position(|k| *k == kind);
    let heard = place.is_some_and(|kind| drums[chosen.place].probabilities[kind] >= HEARD);
    let why = if heard {
        Why::Asked
    } else {
        Why::AskedNotHeard
    };
    Chosen { why, ..chosen }
}

fn picked(drums: &[Candidate], signature: &Signature) -> Option<Chosen> {
    let alike = |drum: &Candidate| -f64::from(drum.features.signature.distance_db(signature));
    let (place, margin) = highest(drums, alike)?;
    let found = drums[place].features.signature.distance_db(signature) < SAME_DRUM_DB;
    if !found {
        return auto(drums).map(|chosen| Chosen {
            why: Why::AskedNotHeard,
            ..chosen
        });
    }
    Some(Chosen {
        place,
        why: Why::Asked,
        margin,
    })
}

fn struck(drums: &[Candidate]) -> Option<Chosen> {
    let (place, margin) = highest(drums, |drum| drum.inside as f64)?;
    (drums[place].inside > 0).then_some(Chosen {
        place,
        why: Why::Asked,
        margin,
    })
}

fn most_hits(drums: &[Candidate]) -> Option<Chosen> {
    let (place, margin) = highest(drums, |drum| drum.features.effective)?;
    Some(Chosen {
        place,
        why: Why::MostHits,
        margin,
    })
}

fn most(drums: &[Candidate]) -> Most {
    Most::of(drums.iter().map(|drum| &drum.features))
}

/// The highest, and how far it is ahead of the next.
fn highest(drums: &[Candidate], value: impl Fn(&Candidate) -> f64) -> Option<(usize, f64)> {
    let mut best: Option<(usize, f64)> = None;
    let mut next = f64::NEG_INFINITY;
    for (place, drum) in drums.iter().enumerate() {
        let value = value(drum);
        match best {
            Some((_, most)) if value <= most => next = next.max(value),
            _ => {
                next = best.map_or(next, |(_, most)| most);
                best = Some((place, value));
            }
        }
    }
    best.map(|(place, most)| (place, (most - next).min(99.0)))
}
