//! Notices under the verdict: missing reach, polarity, what Body would change, what is not there yet.

use super::terms::{length, names};
use crate::editor::drawing::signed;
use crate::editor::frame::{Air, Channels, Control, Frame};
use plumbline_dsp::drum_names::Reason;
use plumbline_dsp::measurement::{Lag, Polarity, Why};
use plumbline_dsp::plan::SpotTiming;

/// Gaps above this were probably meant, seconds: half a metre of air.
const INTENDED_S: f64 = 0.0015;
/// A fall of the correlation by less than this says nothing.
const CORRELATION_FALLS: f64 = 0.05;
/// Attack and Body are told apart from this distance on, cm.
const BODY_APART_CM: f64 = 2.0;

/// Further sentences, the most urgent first.
pub fn notices(frame: &Frame) -> Vec<String> {
    let mut notices = Vec::from_iter(not_measured(frame));
    notices.extend(spot_in_print(frame));
    let Some(lag) = frame.lag() else {
        return notices;
    };
    notices.extend(reach(frame));
    notices.extend(polarity(frame, &lag));
    if lag.attack_s.abs() > INTENDED_S && frame.activation.channels == Channels::Pair {
        notices.push(
            "More than half a metre: it may be meant so, or another drum was measured.".to_owned(),
        );
    }
    notices.extend(clipped(frame));
    notices.extend(worse(frame));
    notices.extend(body(&frame.air(), &lag));
    let measurement = frame.measurement();
    // One drum says nothing about where the spot stands.
    let is_guess = measurement.why == Why::SpotsOwn && measurement.drums().len() < 2;
    if frame.activation.channels == Channels::Pair && !is_guess {
        notices.push(Reason(measurement).sentence_with(&|drum| frame.drum_name(drum)));
    }
    if frame.hits() == 1 {
        notices.push("One hit only: three more settle it.".to_owned());
    }
    if frame.comparison.is_none() {
        notices
            .push("Curve and mono sum come back with the next hits that are measured.".to_owned());
    }
    notices
}

/// What the host gives that cannot be measured, or could not be measured in time.
fn not_measured(frame: &Frame) -> Option<String> {
    let activation = &frame.activation;
    if !activation.is_measured() {
        return Some(
            "Nothing is measured at this sample rate (8 to 768 kHz are); what the session holds is applied."
                .to_owned(),
        );
    }
    let seconds = activation.dropped_frames as f64 / frame.air().sample_rate;
    (activation.dropped_frames > 0).then(|| {
        format!(
            "{seconds:.1} s of audio came too fast to be measured and were left out. Render in real time, or offline."
        )
    })
}

fn reach(frame: &Frame) -> Option<String> {
    let missing_ms = frame.plan.missing_reach_s * 1000.0;
    let wanted_ms = missing_ms + frame.activation.reach_s * 1000.0;
    let otherwise = match frame.activation.channels {
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

/// What keeps the spot from being in time in the print, where it is in it.
fn spot_in_print(frame: &Frame) -> Option<String> {
    let level = frame.knobs.get(Control::SpotLevel);
    match frame.plan.spot.timing {
        _ if level.value <= level.default => None,
        SpotTiming::AsRecorded | SpotTiming::InTime => None,
        _ if !frame.activation.spot => Some("No spot is connected for the print.".to_owned()),
        SpotTiming::NotMeasured => Some(
            "The spot is in the print as recorded: its lag to the overheads has not been measured."
                .to_owned(),
        ),
        SpotTiming::Late { by_s } => {
            let late_ms = by_s * 1000.0;
            let wanted_ms = late_ms + frame.activation.reach_s * 1000.0;
            (late_ms > 0.0005).then(|| {
                format!(
                    "The spot is {late_ms:.2} ms late in the print. Set Reach to {:.1} ms.",
                    (wanted_ms * 10.0).ceil() / 10.0
                )
            })
        }
    }
}

fn polarity(frame: &Frame, lag: &Lag) -> Option<String> {
    const AS_MEASURED: usize = 0;
    let late = names(frame).late;
    let follows = frame.knobs.choice(Control::Polarity) == AS_MEASURED && frame.plan.flip;
    match lag.polarity {
        Polarity::Same => None,
        Polarity::Inverted if follows => Some(format!(
            "The {late} has reversed polarity: look for a reversed cable. Correct mends it."
        )),
        Polarity::Inverted => Some(format!("The {late} has reversed polarity: look for a reversed cable.")),
        Polarity::Undecided => Some(
            "Polarity is undecided: the hits do not agree. Set Monitor to Mono, try Polarity both ways and keep \
             the fuller one."
                .to_owned(),
        ),
    }
}

/// Clipped hits are not used, and say that the gain is too high.
fn clipped(frame: &Frame) -> Option<String> {
    let clipped = frame.measurement().refused.clipped;
    let hits = if clipped == 1 { "hit" } else { "hits" };
    (clipped > 0)
        .then(|| format!("{clipped} clipped {hits} not used: lower the gain before this plugin."))
}

/// What Correct makes worse is said.
fn worse(frame: &Frame) -> Option<String> {
    let comparison = frame.comparison.as_ref()?;
    let [before, after] = [comparison.before.correlation, comparison.after.correlation];
    (before - after > CORRELATION_FALLS).then(|| {
        format!(
            "With Correct the correlation of the hits falls from {} to {}: set Monitor to Mono and compare; Match Body \
             or Kit may fit better.",
            signed(before, 2),
            signed(after, 2)
        )
    })
}

fn body(air: &Air, lag: &Lag) -> Option<String> {
    let apart = air.cm(lag.body_s - lag.attack_s);
    (apart.abs() >= BODY_APART_CM).then(|| {
        format!(
            "The drum's body sums fullest at {}: try Match Body.",
            length(air, lag.body_s)
        )
    })
}
