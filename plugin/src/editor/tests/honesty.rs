//! The sheet says what is so: no order while nothing is sure, what Correct really does, and what it makes worse.

use super::state::State;
use super::{letters, usual};
use crate::editor::frame::Control;
use crate::session::Lengths;
use plumbline_dsp::measurement::Polarity;
use plumbline_dsp::plan::{PlanSettings, plan};

/// What a state says with a control set.
fn said(state: State, control: Control, value: f32) -> String {
    let mut harness = usual(state);
    harness.state_mut().content.frame.set(control, value);
    harness.run();
    letters(&harness)
}

#[test]
fn what_correct_does_is_said_for_every_anchor() {
    for (anchor, state, words) in [
        (0.0, State::Measured, "let Correct hold the first back"),
        (1.0, State::Measured, "let Correct bring the second forward"),
        (1.0, State::FirstIsLater, "let Correct hold the second back"),
        (2.0, State::Measured, "let Correct hold the first back"),
        (
            2.0,
            State::FirstIsLater,
            "let Correct bring the first forward",
        ),
        (3.0, State::Measured, "let Correct move both to the spot"),
    ] {
        let text = said(state, Control::Anchor, anchor);
        assert!(
            text.contains(words),
            "{state:?}, anchor {anchor}: {words:?} is not in\n{text}"
        );
    }
}

#[test]
fn no_stand_is_ordered_about_while_nothing_is_sure() {
    for state in [State::OneHit, State::Undecided, State::Unsure] {
        let text = letters(&usual(state));
        assert!(!text.contains("Move it"), "{state:?}\n{text}");
        assert!(text.contains("Play on"), "{state:?}\n{text}");
    }
}

/// A gap of 0.3 cm that is too unsure is not "together", and a polarity that is not applied is not said to be.
#[test]
fn what_is_too_unsure_is_not_said_to_be_applied() {
    let mut harness = usual(State::Measured);
    for (confidence, is_applied) in [(0.19, false), (0.9, true)] {
        let frame = &mut harness.state_mut().content.frame;
        let gap = frame.report.measurement.gap.as_mut().unwrap();
        gap.confidence = confidence;
        gap.polarity = Polarity::Inverted;
        gap.attack_s = 1e-5;
        frame.plan = plan(frame.measurement(), 2, &PlanSettings::default());
        harness.run();
        let text = letters(&harness);
        for words in ["Both overheads hear", "Correct mends it"] {
            assert_eq!(text.contains(words), is_applied, "{words:?} in\n{text}");
        }
        assert!(text.contains("look for a reversed cable"), "{text}");
        let unsure = "too unsure to be corrected";
        assert_eq!(text.contains(unsure), !is_applied, "{text}");
    }
}

#[test]
fn a_correlation_that_falls_is_said() {
    let mut harness = usual(State::Measured);
    let frame = &mut harness.state_mut().content.frame;
    let comparison = frame.comparison.as_mut().unwrap();
    comparison.before.correlation = 0.8;
    comparison.after.correlation = 0.3;
    harness.run();
    let text = letters(&harness);
    assert!(text.contains("falls from +0.80 to +0.30"), "{text}");
    let text = letters(&usual(State::Measured));
    assert!(!text.contains("falls from"), "{text}");
}

#[test]
fn clipped_hits_say_that_the_gain_is_too_high() {
    let mut harness = usual(State::Measured);
    harness
        .state_mut()
        .content
        .frame
        .report
        .measurement
        .refused
        .clipped = 2;
    harness.run();
    let text = letters(&harness);
    assert!(
        text.contains("2 clipped hits not used: lower the gain"),
        "{text}"
    );
}

#[test]
fn lengths_are_shown_in_the_unit_that_is_chosen() {
    let mut harness = usual(State::Measured);
    harness.state_mut().content.frame.window.lengths = Lengths::Inches;
    harness.run();
    let text = letters(&harness);
    for words in [
        "Move it 1.3 in closer",
        "+1.34 in, +0.099 ms, +4.75 samples, +3.4 cm",
        "snare, 12 hits, gap +1.34 in",
    ] {
        assert!(text.contains(words), "{words:?} is not in\n{text}");
    }
}

#[test]
fn a_deck_at_its_stop_is_said() {
    const STOPPED: &str = "the moving deck is at its stop, 0.8 ms late";
    for (range_ms, is_said) in [(0.8, true), (3.0, false)] {
        let text = said(State::DragHeld, Control::Range, range_ms);
        assert_eq!(
            text.contains(STOPPED),
            is_said,
            "range {range_ms} ms\n{text}"
        );
    }
}
