//! What the sheet says in sentences: the verdict, what is missing, and what to do about it.

use super::control::Control;
use super::frame::{Air, Channels, Frame};
use super::pen::signed;
use plumbline_dsp::measurement::{HitOutcome, Lag, Polarity, Refused};

/// Differences below this are left alone, cm: the sum's first null then lies above 16 kHz.
const TOGETHER_CM: f64 = 1.0;
/// Gaps above this were probably meant, seconds: half a metre.
const INTENDED_S: f64 = 0.0015;
/// Attack and Body are told apart from this distance on, cm.
const BODY_APART_CM: f64 = 2.0;
/// From this confidence on the words are "sure" and "fairly sure".
const SURE: f64 = 0.8;
const FAIRLY_SURE: f64 = 0.5;
/// Nulls above this are not heard, Hz.
const AUDIBLE_HZ: f64 = 20_000.0;

/// The two that are compared, the later one named second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Names {
    pub early: &'static str,
    pub late: &'static str,
}

pub fn names(channels: Channels) -> Names {
    match channels {
        Channels::Pair => Names {
            early: "first",
            late: "second",
        },
        Channels::Mono => Names {
            early: "spot",
            late: "channel",
        },
    }
}

/// The drum that measures.
fn drum(frame: &Frame) -> &'static str {
    match frame.session.spot {
        true => "the spot's drum",
        false => "the hits",
    }
}

/// The first sentence: what was found and what to do, or what is waited for.
pub fn verdict(frame: &Frame) -> String {
    match frame.lag() {
        Some(lag) => distance(frame, &lag),
        None => waiting(frame),
    }
}

fn waiting(frame: &Frame) -> String {
    if frame.session.channels == Channels::Mono && !frame.session.spot {
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
    let [first, second, spot] = frame.present;
    let silent = |name: &str| format!("Listening, but {name} is silent. Check its routing.");
    match (frame.session.channels, frame.session.spot) {
        _ if !first && !second && !spot => {
            "Listening. Nothing comes in: start the playback, or play a hit.".to_owned()
        }
        (_, true) if !spot => {
            "Listening, but the spot is silent. Send the snare's close microphone to the \
                               side chain, before its fader."
                .to_owned()
        }
        (Channels::Pair, _) if !first => silent("the first"),
        (Channels::Pair, _) if !second => silent("the second"),
        (Channels::Mono, _) if !first => silent("the channel"),
        _ => "Listening. One hit gives a number, four give a settled one.".to_owned(),
    }
}

fn remedy(refused: &Refused) -> &'static str {
    let most = refused.clipped.max(refused.crowded).max(refused.buried);
    match most {
        n if n == refused.clipped => "Lower the gain before this plugin.",
        n if n == refused.crowded => "Play single hits, a tenth of a second apart or more.",
        _ => "Raise the spot's level, or play where the kit is quieter.",
    }
}

fn distance(frame: &Frame, lag: &Lag) -> String {
    let air = frame.air();
    let cm = air.cm(lag.attack_s).abs();
    let Names { early, late } = names(frame.session.channels);
    let (later, earlier) = match lag.attack_s > 0.0 {
        true => (late, early),
        false => (early, late),
    };
    let drum = drum(frame);
    match frame.session.channels {
        Channels::Pair if cm < TOGETHER_CM => format!(
            "Both overheads hear {drum} together, within {cm:.1} cm. Leave the stands where they are."
        ),
        Channels::Pair => format!(
            "The {later} overhead hears {drum} later. Move it {cm:.1} cm closer, or let Correct hold the \
             {earlier} back."
        ),
        Channels::Mono if cm < TOGETHER_CM => {
            format!("The channel stands with the spot, within {cm:.1} cm.")
        }
        Channels::Mono => format!(
            "The {later} hears the hits {:.2} ms after the {earlier}, {cm:.1} cm of air.",
            lag.attack_s.abs() * 1000.0
        ),
    }
}

/// Further sentences, the most urgent first.
pub fn notices(frame: &Frame) -> Vec<String> {
    let Some(lag) = frame.lag() else {
        return Vec::new();
    };
    let mut notices = Vec::new();
    notices.extend(reach(frame));
    notices.extend(polarity(frame, &lag));
    if lag.attack_s.abs() > INTENDED_S && frame.session.channels == Channels::Pair {
        notices.push(
            "More than half a metre: it may be meant so, or another drum was measured.".to_owned(),
        );
    }
    notices.extend(body(&frame.air(), &lag));
    if frame.session.channels == Channels::Pair && !frame.session.spot {
        notices.push(
            "No spot: hits are found in the overheads themselves. A close microphone on the side chain is \
             surer."
                .to_owned(),
        );
    }
    if frame.hits() == 1 {
        notices.push("One hit only: three more settle it.".to_owned());
    }
    if frame.heard.is_none() {
        notices
            .push("Curve and mono sum come back with the next hits that are measured.".to_owned());
    }
    notices
}

fn reach(frame: &Frame) -> Option<String> {
    let missing_ms = frame.plan.missing_reach_s * 1000.0;
    let wanted_ms = missing_ms + frame.session.reach_s * 1000.0;
    let otherwise = match frame.session.channels {
        Channels::Pair => ", or Anchor to Later",
        Channels::Mono => "",
    };
    (missing_ms > 0.0005).then(|| {
        format!(
            "{missing_ms:.2} ms of reach are missing; what fits is applied. Set Reach to {:.1} ms{otherwise}.",
            (wanted_ms * 10.0).ceil() / 10.0
        )
    })
}

fn polarity(frame: &Frame, lag: &Lag) -> Option<String> {
    const AS_MEASURED: usize = 0;
    let late = names(frame.session.channels).late;
    let follows = frame.knobs.choice(Control::Polarity) == AS_MEASURED;
    match lag.polarity {
        Polarity::Same => None,
        Polarity::Inverted if follows => Some(format!(
            "The {late} is upside down: look for a reversed cable. Correct turns it over."
        )),
        Polarity::Inverted => Some(format!("The {late} is upside down: look for a reversed cable.")),
        Polarity::Undecided => Some(
            "Polarity is undecided: the hits do not agree. Set Monitor to Mono, try Polarity both ways and keep \
             the fuller one."
                .to_owned(),
        ),
    }
}

fn body(air: &Air, lag: &Lag) -> Option<String> {
    let apart = air.cm(lag.body_s - lag.attack_s);
    (apart.abs() >= BODY_APART_CM).then(|| {
        format!(
            "The drum's body sums fullest at {} cm: try Match Body.",
            signed(air.cm(lag.body_s), 1)
        )
    })
}

/// Why there is no curve.
pub fn not_drawn(frame: &Frame) -> &'static str {
    match frame.lag() {
        Some(_) => "comes back with the next hits",
        None => "drawn from the first hit on",
    }
}

/// "same", "inverted", "undecided".
pub fn polarity_word(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "inverted",
        Polarity::Undecided => "undecided",
    }
}

/// How sure the measurement is, in a word.
pub fn sureness(confidence: f64) -> &'static str {
    match confidence {
        c if c >= SURE => "sure",
        c if c >= FAIRLY_SURE => "fairly sure",
        _ => "not sure",
    }
}

/// "12 hits".
pub fn hits(count: u32) -> String {
    match count {
        1 => "1 hit".to_owned(),
        _ => format!("{count} hits"),
    }
}

/// "2 clipped, 1 crowded"; empty when none was.
pub fn refused_words(refused: &Refused) -> String {
    let reasons = [
        (refused.clipped, "clipped"),
        (refused.crowded, "crowded"),
        (refused.buried, "buried in noise"),
    ];
    let words: Vec<String> = reasons
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{count} {why}"))
        .collect();
    words.join(", ")
}

/// Why the newest hit was not used, if it was not.
pub fn last_refused(frame: &Frame) -> Option<&'static str> {
    match frame.report.log.iter().flatten().last()?.outcome {
        HitOutcome::Counted { .. } => None,
        HitOutcome::Clipped => Some("the last hit clipped"),
        HitOutcome::Crowded => Some("the last hit was crowded"),
        HitOutcome::Buried => Some("the last hit was buried"),
    }
}

/// Where the sum of two equal channels `lag_s` apart has its first null.
pub fn first_null(lag_s: f64) -> String {
    let hz = 0.5 / lag_s.abs().max(1e-9);
    match hz {
        hz if hz >= AUDIBLE_HZ => "above 20 kHz".to_owned(),
        hz if hz >= 1000.0 => format!("{:.1} kHz", hz / 1000.0),
        hz => format!("{hz:.0} Hz"),
    }
}

/// "100", "1k", "3.15k": the nominal names of third octaves (IEC 61260-1:2014, annex E).
pub fn band_name(band: usize) -> &'static str {
    const NAMES: [&str; plumbline_dsp::meters::mono_sum_loss::BANDS] = [
        "100", "125", "160", "200", "250", "315", "400", "500", "630", "800", "1k", "1.25k",
        "1.6k", "2k", "2.5k", "3.15k", "4k", "5k",
    ];
    NAMES[band]
}

/// Sample rate and latency.
pub fn session(frame: &Frame) -> String {
    let Some(sample_rate) = frame.session.sample_rate else {
        return "not running yet".to_owned();
    };
    let latency = frame.session.latency;
    format!(
        "{} kHz · latency {latency} samples, {:.1} ms",
        sample_rate / 1000.0,
        1000.0 * f64::from(latency) / sample_rate
    )
}
