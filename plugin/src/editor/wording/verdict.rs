//! The verdict in sentences: what was found and what to do about it, or what is waited for.

use super::terms::{FAIRLY_SURE, Names, about, distance, names, refused_words};
use crate::editor::frame::{Channels, Control, Frame};
use crate::params::Anchor;
use plumbline_dsp::drum_names::with_article;
use plumbline_dsp::measurement::{Lag, Refused};
use plumbline_dsp::plan::LEAST_CONFIDENCE;

/// Differences below this are left alone, cm: the sum's first notch then lies above 16 kHz.
pub const TOGETHER_CM: f64 = 1.0;

/// The drum that is aligned.
fn drum(frame: &Frame) -> String {
    match frame.measurement().chosen() {
        Some(drum) => with_article(&frame.drum_name(drum)),
        None => "the hits".to_owned(),
    }
}

/// The first sentence: what was found and what to do, or what is waited for.
pub fn verdict(frame: &Frame) -> String {
    match frame.lag() {
        Some(lag) => distance_words(frame, &lag),
        None => waiting(frame),
    }
}

fn waiting(frame: &Frame) -> String {
    if frame.activation.channels == Channels::Mono && !frame.activation.spot {
        return "One channel and no spot: there is nothing to measure against. Give the plugin a side chain \
                and send the reference to it."
            .to_owned();
    }
    if !frame.knobs.is_on(Control::Measure) {
        return "Nothing is measured yet. Switch Measure on and play the snare.".to_owned();
    }
    let refused = frame.measurement().refused;
    if refused.total() > 0 {
        return format!(
            "No hit could be used yet: {}. {}",
            refused_words(&refused),
            remedy(&refused)
        );
    }
    listening(frame)
}

fn listening(frame: &Frame) -> String {
    let [first, second, spot] = frame.audible;
    let silent = |name: &str| format!("Listening, but {name} is silent. Check its routing.");
    match (frame.activation.channels, frame.activation.spot) {
        _ if !first && !second && !spot => {
            "Listening. Nothing comes in: start the playback, or play a hit.".to_owned()
        }
        (Channels::Pair, _) if !first => silent("the first"),
        (Channels::Pair, _) if !second => silent("the second"),
        (Channels::Mono, _) if !first => silent("the channel"),
        (Channels::Mono, true) if !spot => silent("the spot"),
        (Channels::Pair, true) if !spot => {
            "Listening. The spot is silent: the overheads are measured without it.".to_owned()
        }
        _ => "Listening. One hit gives a number, four give a settled one.".to_owned(),
    }
}

fn remedy(refused: &Refused) -> &'static str {
    match refused.clipped >= refused.buried {
        true => "Lower the gain before this plugin.",
        false => "Raise the spot's level, or play where the kit is quieter.",
    }
}

/// What Correct does with the anchor that is set.
fn correction(frame: &Frame, later: &str, earlier: &str) -> String {
    let Names { early, late } = names(frame);
    let brings = |which: &str| match which == later {
        true => format!("bring the {later} forward"),
        false => format!("hold the {earlier} back"),
    };
    match Anchor::of(frame.knobs.choice(Control::Anchor)) {
        Anchor::Later => format!("hold the {earlier} back"),
        Anchor::First => brings(late),
        Anchor::Second => brings(early),
        Anchor::Spot => "move both to the spot".to_owned(),
    }
}

fn distance_words(frame: &Frame, lag: &Lag) -> String {
    let air = frame.air();
    let cm = air.cm(lag.attack_s).abs();
    let far = distance(&air, lag.attack_s);
    let about = about(&air, lag.attack_s);
    let Names { early, late } = names(frame);
    let (later, earlier) = match lag.attack_s > 0.0 {
        true => (late, early),
        false => (early, late),
    };
    let drum = drum(frame);
    match frame.activation.channels {
        Channels::Pair if lag.confidence < LEAST_CONFIDENCE => format!(
            "The {later} overhead seems to hear {drum} later, but that is too unsure to be corrected. Play on: four \
             strokes alone settle it."
        ),
        Channels::Pair if cm < TOGETHER_CM => format!(
            "Both overheads hear {drum} together, within {far}. Leave the stands where they are."
        ),
        Channels::Pair if lag.confidence < FAIRLY_SURE => format!(
            "The {later} overhead seems to hear {drum} later, by about {about}: not sure yet. Play on before a stand is \
             moved."
        ),
        Channels::Pair => format!(
            "The {later} overhead hears {drum} later. Move it {far} closer, or let Correct {}.",
            correction(frame, later, earlier)
        ),
        Channels::Mono if lag.confidence < LEAST_CONFIDENCE => format!(
            "The {later} seems to hear the hits later, but that is too unsure to be corrected. Play on: four strokes \
             alone settle it."
        ),
        Channels::Mono if cm < TOGETHER_CM => {
            format!("The channel stands with the spot, within {far}.")
        }
        Channels::Mono => format!(
            "The {later} hears the hits {:.2} ms after the {earlier}, {far} of air.",
            lag.attack_s.abs() * 1000.0
        ),
    }
}
