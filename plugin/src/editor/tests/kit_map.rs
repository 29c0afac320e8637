//! The kit map, Placement and the recall page in the user's hands.

use super::state::State;
use super::{click, done, letters, usual};
use crate::editor::action::{Action, Note};
use crate::editor::frame::Control;
use crate::session::{Handed, Lengths, Line, Overhead, Seat};
use egui::{Event, Key};
use egui_kittest::kittest::Queryable;

type Harness = egui_kittest::Harness<'static, super::TestWindow>;

/// Clicks on the row whose words begin so.
fn click_row(harness: &mut Harness, begin: &str) {
    harness.get_by_label_contains(begin).click();
    harness.run();
}

/// Types into a box over all that is in it.
fn type_over(harness: &mut Harness, name: &str, text: &str) {
    harness.get_by_label(name).click();
    harness.run();
    harness.key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    harness.run();
    harness.event(Event::Text(text.into()));
    harness.run();
    harness.key_press(Key::Enter);
    harness.run();
}

#[test]
fn a_row_that_is_clicked_is_picked_and_the_aligned_one_is_not() {
    let mut harness = usual(State::Measured);
    click_row(&mut harness, "kick, 4 hits");
    assert_eq!(done(&harness), [Action::PickDrum(1)]);
    harness.state_mut().actions.clear();
    click_row(&mut harness, "snare, 12 hits");
    assert!(done(&harness).is_empty());
}

#[test]
fn a_drum_is_given_its_own_name() {
    let mut harness = usual(State::Measured);
    let row = harness.get_by_label_contains("cymbal, 4 hits");
    row.focus();
    harness.run();
    harness.key_press(Key::F2);
    harness.run();
    harness.run();
    type_over(&mut harness, "Name of the drum", "ride");
    let name = Note::NameDrum(2, "ride".to_owned());
    assert!(
        done(&harness).contains(&Action::Note(name)),
        "{:?}",
        done(&harness)
    );
}

#[test]
fn the_drum_and_the_match_are_parameters() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Match Kit");
    assert_eq!(super::gesture(done(&harness), Control::Match), [2.0]);
    harness.state_mut().actions.clear();
    click(&mut harness, "Drum");
    click(&mut harness, "Kick");
    assert_eq!(super::gesture(done(&harness), Control::Drum), [2.0]);
}

#[test]
fn moving_the_amount_shows_in_every_row() {
    use plumbline_dsp::plan::{PlanSettings, plan};
    let mut rows = Vec::new();
    for amount in [0.0, 0.5, 1.0] {
        let mut frame = State::WholeKit.frame();
        let settings = PlanSettings {
            amount,
            ..PlanSettings::default()
        };
        frame.plan = plan(frame.measurement(), 2, &settings);
        rows.push(frame.kit_rows());
    }
    let [none, half, all] = rows.try_into().expect("three amounts");
    for ((none, half), all) in none.iter().zip(&half).zip(&all) {
        let (Some(lag), Some(none_s), Some(half_s), Some(all_s)) =
            (none.lag, none.left_s, half.left_s, all.left_s)
        else {
            assert!(none.lag.is_none(), "{none:?}");
            continue;
        };
        assert_eq!(none_s, lag.attack_s);
        assert!((half_s - 0.5 * (none_s + all_s)).abs() < 1e-12, "{half:?}");
        assert_ne!(
            none.loss.unwrap().after_db,
            all.loss.unwrap().after_db,
            "{all:?}"
        );
        assert_eq!(none.loss.unwrap().before_db, all.loss.unwrap().before_db);
    }
}

#[test]
fn four_hits_are_asked_for_and_counted_down() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Placement");
    harness.state_mut().actions.clear();
    click(&mut harness, "Four hits now");
    assert_eq!(done(&harness), [Action::FourHits]);
    let mut harness = usual(State::Picking);
    click(&mut harness, "Placement");
    let text = letters(&harness);
    assert!(text.contains("Play 2 strokes of one drum"), "{text}");
}

#[test]
fn placement_leads_back_to_the_target() {
    let mut harness = usual(State::Targeted);
    click(&mut harness, "Placement");
    let text = letters(&harness);
    assert!(text.contains("Back to the target: second 3."), "{text}");
    assert!(text.contains("cm closer"), "{text}");
}

#[test]
fn the_recall_page_asks_for_what_is_noted() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Recall");
    harness.state_mut().actions.clear();
    for (word, action) in [
        ("Inches", Action::Lengths(Lengths::Inches)),
        ("Audience", Action::Seat(Seat::Audience)),
        ("Left-handed", Action::Handed(Handed::Left)),
        ("Keep as target", Action::Note(Note::KeepTarget)),
        ("Save recall sheet", Action::SaveSheet),
    ] {
        click(&mut harness, word);
        assert_eq!(done(&harness), [action], "{word}");
        harness.state_mut().actions.clear();
    }
    for (caption, note) in [
        (
            "First is",
            Note::NameOverhead(Overhead::First, "hat side".to_owned()),
        ),
        ("Heights", Note::Write(Line::Heights, "hat side".to_owned())),
    ] {
        type_over(&mut harness, caption, "hat side");
        assert_eq!(done(&harness), [Action::Note(note)], "{caption}");
        harness.state_mut().actions.clear();
    }
}
