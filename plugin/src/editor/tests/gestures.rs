//! Gestures on the controls: what comes out, and what is refused.

use super::state::State;
use super::{TestWindow, click, done, gesture, reached_by_tab, usual, window};
use crate::editor::action::{Action, Figure};
use crate::editor::frame::Control;
use crate::editor::pages::View;
use crate::session::Theme;
use egui::{Event, Key, Modifiers, MouseWheelUnit, Pos2, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

fn middle(harness: &Harness<'_, TestWindow>, name: &str) -> Pos2 {
    harness.get_by_label(name).rect().center()
}

/// A sample at 48 kHz, in the parameter's milliseconds.
const SAMPLE: f32 = 1.0 / 48.0;

fn assert_near(got: f32, want: f32) {
    assert!((got - want).abs() < 1e-4, "{got} instead of {want}");
}

/// Types into a field from its first letter on.
fn enter(harness: &mut Harness<'_, TestWindow>, name: &str, text: &str) {
    click(harness, name);
    harness.event(Event::Text(text.into()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
}

#[test]
fn a_switch_and_a_choice_are_whole_gestures() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Measure");
    assert_eq!(gesture(done(&harness), Control::Measure), [0.0]);
    harness.state_mut().actions.clear();
    click(&mut harness, "Anchor Spot");
    assert_eq!(gesture(done(&harness), Control::Anchor), [3.0]);
    harness.state_mut().actions.clear();
    click(&mut harness, "Anchor Spot");
    assert!(done(&harness).is_empty(), "chosen already");
}

#[test]
fn a_drag_begins_moves_and_ends() {
    let mut harness = usual(State::Measured);
    let at = middle(&harness, "Nudge second");
    harness.drag_at(at);
    harness.run();
    for step in 1..=4 {
        harness.hover_at(at + vec2(12.0 * step as f32, 0.0));
        harness.run();
    }
    harness.drop_at(at + vec2(48.0, 0.0));
    harness.run();
    let values = gesture(done(&harness), Control::NudgeSecond);
    assert!(values.len() >= 3, "{values:?}");
    // Six points a sample.
    assert_near(*values.last().unwrap(), 8.0 * SAMPLE);
}

#[test]
fn a_drag_with_shift_is_fine() {
    let mut harness = usual(State::Measured);
    let at = middle(&harness, "Nudge second");
    harness.drag_at(at);
    harness.run();
    harness.event(Event::ModifiersChanged(Modifiers::SHIFT));
    harness.hover_at(at + vec2(48.0, 0.0));
    harness.run();
    harness.drop_at(at + vec2(48.0, 0.0));
    harness.run();
    let values = gesture(done(&harness), Control::NudgeSecond);
    assert_near(*values.last().unwrap(), 0.8 * SAMPLE);
}

#[test]
fn lengths_and_times_are_typed_with_their_units() {
    for (typed, ms) in [
        ("2.5", 2.5 * SAMPLE),
        ("0.5 ms", 0.5),
        ("10 cm", 0.29137),
        ("-250 us", -0.25),
        ("2 in", 0.14801),
        ("99 ms", 5.0),
    ] {
        let mut harness = usual(State::Measured);
        enter(&mut harness, "Nudge first", typed);
        let values = gesture(done(&harness), Control::NudgeFirst);
        assert_near(values[0], ms);
    }
}

#[test]
fn the_spot_in_the_print_is_a_level_or_off() {
    let mut harness = usual(State::Measured);
    for (typed, db) in [
        ("-6", -6.0),
        ("-3.5 dB", -3.5),
        ("off", -48.5),
        ("99", 12.0),
    ] {
        harness.state_mut().actions.clear();
        enter(&mut harness, "Spot in print", typed);
        assert_near(gesture(done(&harness), Control::SpotLevel)[0], db);
    }
}

#[test]
fn what_is_not_understood_changes_nothing_and_stays_open() {
    let mut harness = usual(State::Measured);
    enter(&mut harness, "Amount", "loud");
    assert!(done(&harness).is_empty(), "{:?}", done(&harness));
    harness.key_press(Key::Escape);
    harness.run();
    assert!(done(&harness).is_empty());
    enter(&mut harness, "Amount", "50 %");
    assert_eq!(gesture(done(&harness), Control::Amount), [50.0]);
}

#[test]
fn arrows_wheel_and_reset() {
    let mut harness = usual(State::Measured);
    harness.get_by_label("Nudge second").focus();
    harness.run();
    harness.key_press(Key::ArrowUp);
    harness.run();
    assert_near(gesture(done(&harness), Control::NudgeSecond)[0], SAMPLE);
    harness.state_mut().actions.clear();
    harness.key_press_modifiers(Modifiers::SHIFT, Key::ArrowDown);
    harness.run();
    assert_near(
        gesture(done(&harness), Control::NudgeSecond)[0],
        0.9 * SAMPLE,
    );
    harness.state_mut().actions.clear();
    harness.key_press(Key::Delete);
    harness.run();
    assert_eq!(gesture(done(&harness), Control::NudgeSecond), [0.0]);
    harness.state_mut().actions.clear();
    let at = middle(&harness, "Output");
    harness.hover_at(at);
    harness.run();
    harness.event(Event::MouseWheel {
        unit: MouseWheelUnit::Line,
        delta: vec2(0.0, 1.0),
        phase: egui::TouchPhase::Move,
        modifiers: Modifiers::NONE,
        source: egui::MouseWheelSource::Wheel,
    });
    // The toolkit rolls a notch of the wheel out over some frames.
    harness.run_steps(20);
    let Some(Action::Set(Control::Output, level)) = done(&harness)
        .iter()
        .rfind(|action| matches!(action, Action::Set(..)))
    else {
        panic!("{:?}", done(&harness));
    };
    assert!(*level >= 0.5, "{level}");
}

#[test]
fn the_keyboard_alone_reaches_everything() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Anchor Spot");
    let reached = reached_by_tab(&mut harness, 60);
    for name in [
        "Mode Sweep",
        "Placement",
        "Monitor Difference",
        "Output",
        "View",
        "Bypass",
        "Measure",
        "Correct",
        "Amount",
        "Match Body",
        "Anchor Spot",
        "Polarity",
        "Nudge first",
        "Reach",
        "Spot trim",
        "Air temperature",
    ] {
        assert!(
            reached.iter().any(|label| label == name),
            "{name}: {reached:?}"
        );
    }
}

#[test]
fn compare_is_on_as_long_as_it_is_held() {
    let compare = |harness: &Harness<'_, TestWindow>| {
        let values = done(harness).iter().filter_map(|action| match action {
            Action::Set(Control::Compare, value) => Some(*value),
            _ => None,
        });
        values.collect::<Vec<f32>>()
    };
    let mut harness = usual(State::Measured);
    let at = middle(&harness, "Compare");
    harness.drag_at(at);
    // Quarters of a second: far longer than a click.
    harness.run_steps(20);
    assert_eq!(compare(&harness), [1.0]);
    harness.drop_at(at);
    harness.run_steps(4);
    assert_eq!(gesture(done(&harness), Control::Compare), [1.0, 0.0]);
    harness.state_mut().actions.clear();
    harness.get_by_label("Compare").focus();
    harness.run_steps(2);
    harness.key_down(Key::Space);
    harness.run_steps(20);
    assert_eq!(compare(&harness), [1.0]);
    harness.key_up(Key::Space);
    harness.run_steps(4);
    assert_eq!(gesture(done(&harness), Control::Compare), [1.0, 0.0]);
}

#[test]
fn what_a_level_brings_stands_behind_it() {
    let mut harness = usual(State::Measured);
    let before = middle(&harness, "Spot in print");
    let frame = &mut harness.state_mut().content.frame;
    frame.set(Control::SpotLevel, -6.0);
    harness.run();
    assert!(harness.query_by_label("Spot trim").is_some());
    assert_eq!(middle(&harness, "Spot in print"), before);
}

#[test]
fn a_list_opens_and_one_of_it_is_a_whole_gesture() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Polarity");
    click(&mut harness, "Flipped");
    assert_eq!(gesture(done(&harness), Control::Polarity), [2.0]);
}

#[test]
fn reach_and_trim_come_with_the_anchor_that_needs_them() {
    let mut harness = usual(State::Measured);
    assert!(harness.query_by_label("Reach").is_none());
    click(&mut harness, "Anchor First");
    assert!(harness.query_by_label("Reach").is_some());
    assert!(harness.query_by_label("Spot trim").is_none());
    click(&mut harness, "Anchor Spot");
    assert!(harness.query_by_label("Spot trim").is_some());
}

#[test]
fn the_trim_is_there_while_the_spot_is_in_the_print() {
    let mut harness = usual(State::Measured);
    let frame = &harness.state().content.frame;
    let off = frame.knobs.get(Control::SpotLevel).default;
    for (level_db, is_there) in [(-6.0, true), (off, false), (0.0, true)] {
        let frame = &mut harness.state_mut().content.frame;
        frame.set(Control::SpotLevel, level_db);
        harness.run();
        let trim = harness.query_by_label("Spot trim");
        assert_eq!(trim.is_some(), is_there, "spot in print at {level_db} dB");
    }
}

#[test]
fn a_small_window_changes_its_drawing() {
    let mut harness = window(
        State::Measured,
        Theme::Light,
        View::default(),
        [720.0, 460.0],
    );
    click(&mut harness, "Mono sum");
    assert_eq!(done(&harness), [Action::Figure(Figure::MonoSum)]);
    assert!(
        harness
            .query_by_label_contains("Mono-sum loss: worst before")
            .is_some()
    );
}
