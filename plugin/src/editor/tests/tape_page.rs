//! The tape's controls and drawings, on both pages.

use super::state::State;
use super::{TestWindow, click, done, gesture, letters, usual, window};
use crate::editor::action::{Action, ControlTab};
use crate::editor::frame::Control;
use crate::editor::pages::View;
use crate::session::Theme;
use egui_kittest::Harness;
use egui_kittest::kittest::Queryable;

/// A state of each page.
const PAGES: [State; 2] = [State::Measured, State::CycleRuns];

/// A window with the tape's controls up and these of them moved.
fn tape(state: State, knobs: &[(Control, f32)]) -> Harness<'static, TestWindow> {
    let mut harness = usual(state);
    click(&mut harness, "Tape");
    for (control, value) in knobs {
        harness.state_mut().content.frame.set(*control, *value);
    }
    harness.run();
    harness
}

#[test]
fn the_tab_brings_the_machine_to_both_pages_and_back() {
    for state in PAGES {
        let mut harness = tape(state, &[]);
        let text = letters(&harness);
        for part in [
            "Level to tape",
            "Tape speed 38",
            "Equalisation IEC",
            "Tape noise",
            "print is off; 0 dB: 320 nWb/m, a sine of −18.0 dBFS",
            "Response of the print: ",
        ] {
            assert!(text.contains(part), "{state:?}: {part:?} is not in\n{text}");
        }
        let own = match state {
            State::CycleRuns => "Decks",
            _ => "Align",
        };
        click(&mut harness, own);
        assert!(harness.query_by_label("Tape speed 38").is_none());
    }
}

#[test]
fn it_says_how_much_of_the_take_is_over_each_line() {
    // The lines lie some 0, 5 and 10 dB over the reference: at -18, -13 and -8 dBFS, and lower by the level to tape.
    for state in PAGES {
        for (level_db, said) in [
            (
                0.0,
                "of the take 10 % over 0.3 %, 10 % over 1 %, 1.0 % over 3 %",
            ),
            (
                12.0,
                "of the take 10 % over 0.3 %, 10 % over 1 %, 10 % over 3 %",
            ),
            (
                -10.0,
                "of the take 1.0 % over 0.3 %, 0 % over 1 %, 0 % over 3 %",
            ),
        ] {
            let knobs = [(Control::Print, 1.0), (Control::TapeLevel, level_db)];
            let text = letters(&tape(state, &knobs));
            assert!(text.contains(said), "{state:?}: {said:?} is not in\n{text}");
        }
    }
}

#[test]
fn it_says_the_response_of_each_machine() {
    let said = |speed: f32, equalisation: f32| {
        let knobs = [
            (Control::TapeSpeed, speed),
            (Control::TapeEqualisation, equalisation),
        ];
        let text = letters(&tape(State::Measured, &knobs));
        let line = text.lines().find(|line| line.contains("Response of the"));
        line.unwrap().to_owned()
    };
    let all: Vec<String> = [0.0, 1.0, 2.0]
        .into_iter()
        .flat_map(|speed| [said(speed, 0.0), said(speed, 1.0)])
        .collect();
    println!("{}", all.join("\n"));
    assert!(all[0] != all[1] && all[2] != all[3]);
    // NAB has no curve at 76 cm/s.
    assert_eq!(all[4], all[5]);
}

#[test]
fn every_control_is_one_gesture() {
    for (name, control, value) in [
        ("Print", Control::Print, 1.0),
        ("Tape speed 19", Control::TapeSpeed, 0.0),
        ("Equalisation NAB", Control::TapeEqualisation, 1.0),
    ] {
        let mut harness = tape(State::CycleRuns, &[]);
        assert_eq!(done(&harness), [Action::ControlTab(ControlTab::Tape)]);
        click(&mut harness, name);
        assert_eq!(gesture(&done(&harness)[1..], control), [value], "{name}");
    }
}

#[test]
fn both_themes_and_all_sizes_are_drawn() {
    let view = View {
        tab: ControlTab::Tape,
        ..View::default()
    };
    for theme in [Theme::Light, Theme::Dark] {
        for size in [[720.0, 460.0], [1080.0, 680.0], [1800.0, 1200.0]] {
            for state in PAGES {
                let mut harness = window(state, theme, view, size);
                let frame = &mut harness.state_mut().content.frame;
                frame.set(Control::Print, 1.0);
                harness.run();
                assert!(letters(&harness).contains("of the take"), "{size:?}");
            }
        }
    }
}
