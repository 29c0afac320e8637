//! The recall sheet of each state: everything that sets the same microphones up again.

use super::state::State;
use crate::editor::frame::{Control, Frame};
use crate::editor::recall::recall_sheet;
use std::time::{Duration, UNIX_EPOCH};

/// A sheet with the name of each control as its value.
fn sheet(state: State) -> String {
    sheet_of(&state.frame())
}

fn sheet_of(frame: &Frame) -> String {
    let at = UNIX_EPOCH + Duration::from_secs(1_795_698_420);
    recall_sheet(frame, &|control| format!("{control:?}"), at)
}

#[test]
fn the_sheet_has_everything() {
    let sheet = sheet(State::WholeKit);
    for part in [
        "2026-11-26 13:07 UTC",
        "hat side delayed by",
        "floor side delayed by",
        "<td>Anchor</td><td class=\"n\">Anchor</td>",
        "<td>Spot in print</td><td class=\"n\">SpotLevel</td>",
        "The spot is a kick's: aligned on the snare",
        "<td>Target</td><td class=\"n\">zero",
        "<td>snare (aligned)</td>",
        "<td>big tom</td>",
        "two small condensers, a dynamic on the kick",
        "<td>Heights</td><td class=\"n\"></td>",
        "Lag of the hits",
        "Mono-sum loss per third octave",
    ] {
        assert!(sheet.contains(part), "{part:?} is not in\n{sheet}");
    }
}

#[test]
fn the_sheet_has_the_tape_while_print_is_on() {
    let mut frame = State::WholeKit.frame();
    let line_up = "<td>Reference fluxivity</td><td class=\"n\">Fluxivity</td>";
    for (value, expected) in [(0.0, false), (1.0, true)] {
        frame.knobs.set(Control::Print, value);
        let sheet = sheet_of(&frame);
        assert!(sheet.contains("<td>Print</td>"), "Print {value}\n{sheet}");
        let stated = sheet.contains(line_up);
        assert_eq!(stated, expected, "Print {value}\n{sheet}");
    }
}

#[test]
fn every_state_has_a_sheet() {
    for state in State::ALL {
        let sheet = sheet(state);
        assert!(sheet.ends_with("</html>\n"), "{state:?}");
        assert!(!sheet.contains("NaN"), "{state:?}");
    }
}
