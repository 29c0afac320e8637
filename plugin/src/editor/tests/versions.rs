//! Whole settings in the user's hands: presets, undo and redo, and the two sides.

use super::state::State;
use super::{TestWindow, click, done, letters, usual, window};
use crate::editor::action::{Action, Page};
use crate::editor::frame::{PresetStatus, Side, Versions};
use crate::editor::pages::View;
use crate::presets::STARTING_POINTS;
use crate::session::Theme;
use egui::{Key, Modifiers};
use egui_kittest::Harness;

fn presets(state: State, size: [f32; 2]) -> Harness<'static, TestWindow> {
    let view = View {
        page: Page::Presets,
        ..View::default()
    };
    window(state, Theme::Light, view, size)
}

#[test]
fn every_starting_point_is_in_the_list_of_both_modes_and_at_every_size() {
    for state in [State::Measured, State::CycleRuns] {
        for size in [[720.0, 460.0], [1080.0, 680.0], [1800.0, 1100.0]] {
            let harness = presets(state, size);
            let letters = letters(&harness);
            for start in STARTING_POINTS {
                assert!(
                    letters.contains(start.name),
                    "{state:?} {size:?}: {}",
                    start.name
                );
            }
        }
    }
}

#[test]
fn a_click_calls_one_up() {
    let mut harness = presets(State::Measured, [1080.0, 680.0]);
    click(&mut harness, STARTING_POINTS[2].name);
    click(&mut harness, "Save preset…");
    click(&mut harness, "Open preset…");
    click(&mut harness, "Copy A to B");
    let wanted = [
        Action::CallUp(2),
        Action::SavePreset,
        Action::OpenPreset,
        Action::CopySide,
    ];
    assert_eq!(done(&harness), wanted);
    click(&mut harness, "Presets");
    assert_eq!(done(&harness).last(), Some(&Action::Page(Page::Drawings)));
}

#[test]
fn what_became_of_a_preset_is_said() {
    for (status, said) in [
        (
            PresetStatus::Saved("/home/x/Mine.plumbline".into()),
            "saved: /home/x/Mine.plumbline",
        ),
        (
            PresetStatus::CalledUp("Slow breath".into()),
            "called up: Slow breath",
        ),
        (
            PresetStatus::Failed("Mine: range cannot be 200".into()),
            "nothing was changed: Mine: range cannot be 200",
        ),
    ] {
        let mut harness = presets(State::Measured, [1080.0, 680.0]);
        harness.state_mut().content.frame.versions.preset = status;
        harness.run();
        assert!(letters(&harness).contains(said), "{said}");
    }
}

#[test]
fn nothing_is_undone_where_nothing_was_done() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Undo");
    click(&mut harness, "Redo");
    click(&mut harness, "Settings A");
    assert_eq!(done(&harness), []);
}

#[test]
fn steps_and_sides_by_button_and_by_key() {
    let mut harness = usual(State::CycleRuns);
    harness.state_mut().content.frame.versions = Versions {
        undo: 3,
        redo: 1,
        ..Versions::default()
    };
    harness.run();
    click(&mut harness, "Undo");
    click(&mut harness, "Redo");
    click(&mut harness, "Settings B");
    harness.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    harness.run();
    harness.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    harness.run();
    let wanted = [
        Action::Undo,
        Action::Redo,
        Action::Side(Side::B),
        Action::Undo,
        Action::Redo,
    ];
    assert_eq!(done(&harness), wanted);
}
