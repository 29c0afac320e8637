//! Gestures on the decks: braking and letting go, the pass, and the controls that each motion brings.

use super::state::State;
use super::{TestWindow, click, done, gesture, reached_by_tab, usual, window};
use crate::editor::action::{Action, Graph};
use crate::editor::frame::Control;
use crate::editor::pages::View;
use crate::session::Theme;
use egui::{Key, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

fn strip(harness: &Harness<'_, TestWindow>, name: &str) -> egui::Rect {
    harness.get_by_label(name).rect()
}

#[test]
fn a_deck_is_braked_while_it_is_held_and_let_go_at_zero() {
    let mut harness = usual(State::HandAtNull);
    click(&mut harness, "Motion Drag");
    harness.state_mut().actions.clear();
    let bar = strip(&harness, "Brake by hand");
    harness.drag_at(bar.center());
    harness.run_steps(2);
    for part in [0.2, 0.3, 0.5] {
        harness.hover_at(bar.center() + vec2(part * bar.width(), 0.0));
        harness.run_steps(2);
    }
    assert!(
        !done(&harness).contains(&Action::End(Control::Drag)),
        "it is still held"
    );
    harness.drop_at(bar.right_center());
    harness.run();
    let values = gesture(done(&harness), Control::Drag);
    let (last, pulled) = values.split_last().unwrap();
    assert_eq!(*last, 0.0, "{values:?}");
    assert!(pulled.windows(2).all(|two| two[1] >= two[0]), "{values:?}");
    assert_eq!(*pulled.last().unwrap(), 100.0, "{values:?}");
}

#[test]
fn to_the_left_the_fixed_deck_is_braked() {
    let mut harness = usual(State::DragHeld);
    let bar = strip(&harness, "Brake by hand");
    harness.drag_at(bar.left_center() + vec2(bar.width() / 4.0, 0.0));
    harness.run_steps(2);
    harness.drop_at(bar.left_center() + vec2(bar.width() / 4.0, 0.0));
    harness.run();
    let values = gesture(done(&harness), Control::Drag);
    assert!((-60.0..-40.0).contains(&values[0]), "{values:?}");
    assert_eq!(values.last(), Some(&0.0));
}

#[test]
fn arrow_keys_brake_while_they_are_held() {
    let mut harness = usual(State::HandAtNull);
    click(&mut harness, "Motion Drag");
    harness.state_mut().actions.clear();
    harness.get_by_label("Brake by hand").focus();
    harness.run();
    harness.key_down(Key::ArrowRight);
    harness.run_steps(3);
    harness.key_up(Key::ArrowRight);
    harness.run();
    assert_eq!(gesture(done(&harness), Control::Drag), [50.0, 0.0]);
}

#[test]
fn by_hand_the_strip_moves_the_offset_and_leaves_it() {
    let mut harness = usual(State::HandAtNull);
    let bar = strip(&harness, "Offset by hand");
    harness.drag_at(bar.center());
    harness.run();
    harness.hover_at(bar.center() + vec2(40.0, 0.0));
    harness.run();
    harness.drop_at(bar.center() + vec2(40.0, 0.0));
    harness.run();
    let values = gesture(done(&harness), Control::Offset);
    assert!(*values.last().unwrap() > 1.0, "{values:?}");
}

/// The ring of a pass; its name ends with its place.
fn ring(harness: &Harness<'_, TestWindow>) -> egui::Rect {
    let named = |name: &str| name.starts_with("Null point on the course");
    harness
        .get_by(|node| node.label().is_some_and(|label| named(&label)))
        .rect()
}

#[test]
fn the_ring_on_the_course_is_dragged_to_another_bar() {
    let mut harness = usual(State::NullOnBar);
    let from = ring(&harness).center();
    harness.drag_at(from);
    harness.run_steps(2);
    for step in 1..=8 {
        harness.hover_at(from + vec2(12.0 * step as f32, 0.0));
        harness.run_steps(2);
    }
    harness.drop_at(from + vec2(96.0, 0.0));
    harness.run();
    let values = gesture(done(&harness), Control::NullAt);
    let last = *values.last().unwrap();
    assert!(last > 37.5 && last < 40.0, "{values:?}");
    assert_eq!(
        (16.0 * last).fract(),
        0.0,
        "a quarter of a beat: {values:?}"
    );
    let now = ring(&harness).center();
    assert!((now.x - from.x - 96.0).abs() < 10.0, "{from} {now}");
}

#[test]
fn a_pass_is_started_by_a_press_that_ends_by_itself() {
    let mut harness = usual(State::PassCued);
    harness.get_by_label("Start pass").click();
    harness.run_steps(60);
    assert_eq!(gesture(done(&harness), Control::StartPass), [1.0, 0.0]);
}

#[test]
fn each_motion_brings_its_own_controls() {
    let common = [
        "Engage", "Width", "Blend", "Flip", "Wow", "Flutter", "Offset",
    ];
    let table: [(&str, &[&str], &[&str]); 4] = [
        (
            "Motion Hand",
            &["Offset by hand"],
            &["Range", "Sync", "Re-cue", "Start pass"],
        ),
        (
            "Motion Cycle",
            &["Range", "Sync", "Length", "Curve"],
            &["Rate", "Start pass"],
        ),
        (
            "Motion Pass",
            &["Range", "Length", "Start pass"],
            &["Rate", "Drag", "Re-cue"],
        ),
        (
            "Motion Drag",
            &["Range", "Drag", "Re-cue", "Brake by hand"],
            &["Sync", "Length"],
        ),
    ];
    for (motion, here, away) in table {
        let mut harness = usual(State::HandAtNull);
        if motion != "Motion Hand" {
            click(&mut harness, motion);
        }
        for name in here.iter().chain(&common) {
            assert!(harness.query_by_label(name).is_some(), "{motion}: {name}");
        }
        for name in away {
            assert!(harness.query_by_label(name).is_none(), "{motion}: {name}");
        }
    }
    let mut harness = usual(State::CycleRuns);
    click(&mut harness, "Sync");
    assert!(harness.query_by_label("Rate").is_some());
    assert!(harness.query_by_label("Length").is_none());
}

#[test]
fn a_small_window_shows_course_or_comb() {
    let mut harness = window(
        State::CycleRuns,
        Theme::Dark,
        View::default(),
        [720.0, 460.0],
    );
    click(&mut harness, "Comb");
    assert_eq!(done(&harness), [Action::Graph(Graph::Comb)]);
    assert!(harness.query_by_label_contains("Comb now").is_some());
}

#[test]
fn the_keyboard_alone_reaches_the_decks() {
    let mut harness = usual(State::DragHeld);
    let reached = reached_by_tab(&mut harness, 40);
    for name in [
        "Brake by hand",
        "Engage",
        "Motion Cycle",
        "Offset",
        "Range",
        "Drag",
        "Re-cue",
        "Width",
        "Blend",
        "Flip",
        "Wow",
        "Flutter",
    ] {
        assert!(
            reached.iter().any(|label| label == name),
            "{name}: {reached:?}"
        );
    }
}
