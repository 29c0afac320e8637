//! A double-click on each kind of control: a number goes back to its default, and nothing else is put back by one.

use super::state::State;
use super::{TestWindow, done, gesture};
use crate::editor::action::{Action, Note, set_at_once};
use crate::editor::frame::Control;
use crate::editor::pages::{Content, View};
use crate::session::Theme;
use egui::{Key, Pos2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

/// The usual window in its time: a picture takes a sixtieth of a second.
fn in_time(content: Content) -> Harness<'static, TestWindow> {
    let shown = TestWindow {
        content,
        actions: Vec::new(),
    };
    let mut harness = Harness::builder()
        .with_size([1080.0, 680.0])
        .with_step_dt(1.0 / 60.0)
        .build_ui_state(TestWindow::draw, shown);
    harness.run_steps(5);
    harness
}

/// With some controls moved.
fn moved(state: State, controls: &[(Control, f32)]) -> Harness<'static, TestWindow> {
    let mut frame = state.frame();
    for (control, value) in controls {
        frame.set(*control, *value);
    }
    in_time(Content {
        frame,
        theme: Theme::Light,
        view: View::default(),
    })
}

/// Two clicks within a tenth of a second, and half a second after them.
fn double_click(harness: &mut Harness<'_, TestWindow>, at: Pos2) {
    harness.hover_at(at);
    harness.run_steps(2);
    for _ in 0..2 {
        harness.drag_at(at);
        harness.run_steps(1);
        harness.drop_at(at);
        harness.run_steps(2);
    }
    harness.run_steps(30);
}

fn double_click_on(harness: &mut Harness<'_, TestWindow>, name: &str) {
    let at = harness.get_by_label(name).rect().center();
    double_click(harness, at);
}

#[test]
fn a_number_goes_back_to_its_default() {
    let table = [
        (State::Measured, "Output", Control::Output, -6.0),
        (State::Measured, "Amount", Control::Amount, 50.0),
        (State::Measured, "Nudge second", Control::NudgeSecond, 0.5),
        (State::Measured, "Spot in print", Control::SpotLevel, -6.0),
        (
            State::Measured,
            "Air temperature",
            Control::Temperature,
            30.0,
        ),
        (State::HandAtNull, "Offset", Control::Offset, 2.0),
        (State::CycleRuns, "Range", Control::Range, 1.0),
        (State::NullOnBar, "Ease in", Control::Ease, 1.0),
        (State::DecksAtRest, "Width", Control::Width, -40.0),
    ];
    for (state, name, control, value) in table {
        let mut harness = moved(state, &[(control, value)]);
        let default = harness.state().content.frame.knobs.get(control).default;
        assert_ne!(value, default, "{name}");
        double_click_on(&mut harness, name);
        assert_eq!(gesture(done(&harness), control), [default], "{name}");
        // No box to type in is left open: a letter goes nowhere, and Enter sets nothing.
        harness.state_mut().actions.clear();
        harness.event(egui::Event::Text("7".into()));
        harness.run_steps(2);
        double_click_on(&mut harness, name);
        assert_eq!(gesture(done(&harness), control), [default], "{name}, again");
    }
}

/// Two clicks in a box that has been open for a while are for its text.
#[test]
fn a_number_that_is_typed_is_not_put_back() {
    let mut harness = moved(State::Measured, &[(Control::Amount, 50.0)]);
    harness.get_by_label("Amount").click();
    harness.run_steps(60);
    double_click_on(&mut harness, "Amount");
    assert!(done(&harness).is_empty(), "{:?}", done(&harness));
    harness.key_press(Key::Escape);
    harness.run_steps(2);
    assert!(done(&harness).is_empty(), "{:?}", done(&harness));
}

#[test]
fn the_hand_strip_is_back_at_its_default() {
    let mut harness = moved(State::HandAtNull, &[(Control::Offset, 2.0)]);
    double_click_on(&mut harness, "Offset by hand");
    assert_eq!(gesture(done(&harness), Control::Offset), [0.0]);
}

/// The brake is let go after each press.
#[test]
fn a_brake_is_let_go_twice() {
    let mut harness = moved(State::DragHeld, &[]);
    let strip = harness.get_by_label("Brake by hand").rect();
    double_click(&mut harness, strip.right_center());
    let [Action::Begin(_), first @ .., Action::End(_)] = done(&harness) else {
        panic!("{:?}", done(&harness));
    };
    let ends = first
        .iter()
        .filter(|action| matches!(action, Action::End(_)));
    assert_eq!(ends.count(), 1, "{first:?}");
    let last = &done(&harness)[done(&harness).len() - 2];
    assert_eq!(*last, Action::Set(Control::Drag, 0.0));
}

#[test]
fn a_pass_without_a_null_point_gets_one_on_the_null_line() {
    let named = |label: String| label.starts_with("Null point on the course");
    let place = moved(State::NullOnBar, &[])
        .get_by(|node| node.label().is_some_and(named))
        .rect()
        .center();
    let mut harness = moved(State::NullOnBar, &[(Control::NullAt, 0.0)]);
    double_click(&mut harness, place);
    assert_eq!(gesture(done(&harness), Control::NullAt), [37.5]);
}

#[test]
fn a_row_of_the_kit_map_is_named_and_not_picked() {
    let mut harness = moved(State::Measured, &[]);
    let row = harness.get_by_label_contains("kick, 4 hits").rect();
    double_click(&mut harness, row.center());
    assert!(done(&harness).is_empty(), "{:?}", done(&harness));
    harness.get_by_label("Name of the drum");
    harness.event(egui::Event::Text("floor".into()));
    harness.run_steps(2);
    harness.key_press(Key::Enter);
    harness.run_steps(2);
    let [Action::Note(Note::NameDrum(1, name))] = done(&harness) else {
        panic!("{:?}", done(&harness));
    };
    assert!(name.contains("floor"), "{name}");
}

/// A button is pressed twice, as quickly as that may be.
#[test]
fn a_switch_is_switched_twice_and_a_choice_is_made_once() {
    let mut harness = moved(State::Measured, &[]);
    double_click_on(&mut harness, "Bypass");
    let [on, off] = [1.0, 0.0].map(|value| set_at_once(Control::Bypass, value));
    assert_eq!(done(&harness), [on, off].concat());
    harness.state_mut().actions.clear();
    double_click_on(&mut harness, "Match Body");
    assert_eq!(gesture(done(&harness), Control::Match), [1.0]);
    harness.state_mut().actions.clear();
    double_click_on(&mut harness, "Polarity");
    assert!(done(&harness).is_empty(), "{:?}", done(&harness));
}
