//! What is said in each state, and that nothing leaves the window at any size.

use super::state::{DECKS, State};
use super::{TestWindow, click, letters, usual, window, zoomed};
use crate::editor::action::{ControlTab, Figure, Graph, Page};
use crate::editor::bounds::ZOOMS;
use crate::editor::frame::Control;
use crate::editor::pages::View;
use crate::session::Theme;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};

/// Smallest, usual and largest window.
const SIZES: [[f32; 2]; 4] = [
    [720.0, 460.0],
    [900.0, 600.0],
    [1080.0, 680.0],
    [1800.0, 1200.0],
];

/// Parts of what each state says.
const SAID: [(State, &[&str]); 20] = {
    use State::*;
    [
        (NotRunning, &["not running yet", "Switch Measure on"]),
        (Unmeasured, &["Nothing is measured yet. Switch Measure on"]),
        (
            ListeningToNothing,
            &["Nothing comes in: start the playback"],
        ),
        (
            SpotSilent,
            &["The spot is silent: the overheads are measured"],
        ),
        (AllRefused, &["3 clipped. Lower the gain"]),
        (OneHit, &["One hit only: three more", "not sure"]),
        (
            Measured,
            &[
                "second overhead hears",
                "Move it 3.4 cm closer",
                "sure",
                "12 hits",
                "+4.75 samples",
            ],
        ),
        (
            FirstIsLater,
            &[
                "first overhead hears",
                "Move it 10.0 cm closer",
                "hold the second back",
                "Match Body",
            ],
        ),
        (Together, &["together, within 0.3 cm. Leave the stands"]),
        (Undecided, &["Polarity is undecided", "keep the fuller one"]),
        (Inverted, &["reversed polarity", "Correct mends it"]),
        (
            ReachMissing,
            &[
                "1.83 ms of reach are missing",
                "Set Reach to 1.9 ms",
                "half a metre",
            ],
        ),
        (NoSpot, &["No spot: aligned on the snare."]),
        (Loaded, &["come back with the next hits"]),
        (
            Mono,
            &[
                "channel hears the hits 2.41 ms after the spot",
                "Lag, channel after spot",
            ],
        ),
        (MonoWithoutSpot, &["One channel and no spot"]),
        (
            WholeKit,
            &[
                "snare, 12 hits, gap +3.4 cm",
                "big tom, 4 hits, gap −27.2 cm",
                "polarity reversed",
                "drum, 3 hits, gap not known",
                "; aligned",
                "Gap, floor side after hat side",
                "The spot is a kick's: aligned on the snare",
            ],
        ),
        (Picking, &["12 hits"]),
        (Targeted, &["Move it 3.4 cm closer"]),
        (Unsure, &["too unsure to be corrected"]),
    ]
};

#[test]
fn every_state_says_what_to_do() {
    for (state, parts) in SAID {
        let text = letters(&usual(state));
        for part in parts {
            assert!(text.contains(part), "{state:?}: {part:?} is not in\n{text}");
        }
    }
}

#[test]
fn a_spot_that_is_not_in_time_in_the_print_is_said() {
    const SAID: &str = "as recorded: its lag to the overheads has not been measured";
    for (state, level_db, is_said) in [
        (State::Unmeasured, 0.0, true),
        (State::Unmeasured, -48.5, false),
        (State::NoSpot, 0.0, false),
        (State::Measured, 0.0, false),
    ] {
        let mut harness = usual(state);
        let frame = &mut harness.state_mut().content.frame;
        frame.set(Control::SpotLevel, level_db);
        harness.run();
        let text = letters(&harness);
        assert_eq!(
            text.contains(SAID),
            is_said,
            "{state:?}, {level_db} dB\n{text}"
        );
    }
}

#[test]
fn nothing_leaves_the_window_and_targets_are_large_enough_and_named() {
    for state in State::ALL.into_iter().chain(DECKS) {
        for size in SIZES {
            for (page, tab) in [
                (Page::Drawings, ControlTab::Mode),
                (Page::Drawings, ControlTab::Tape),
                (Page::Placement, ControlTab::Mode),
                (Page::Recall, ControlTab::Mode),
                (Page::Presets, ControlTab::Mode),
            ] {
                // A list that is scrolled reaches beyond its window.
                if page == Page::Presets && size[1] < 680.0 {
                    continue;
                }
                let view = View {
                    page,
                    tab,
                    ..View::default()
                };
                let harness = window(state, Theme::Light, view, size);
                let name = format!("{state:?} {page:?} {tab:?} {size:?}");
                assert_within_reach(&harness, size, &name);
            }
        }
    }
}

/// Every control is inside the window, large enough, and has a name.
fn assert_within_reach(harness: &Harness<'_, TestWindow>, size: [f32; 2], name: &str) {
    for node in harness.root().children_recursive() {
        use egui::Role::{
            Button, CheckBox, ComboBox, Link, RadioButton, Slider, SpinButton, TextInput,
        };
        let role = node.accesskit_node().role();
        if !matches!(
            role,
            Button | CheckBox | ComboBox | Link | RadioButton | Slider | SpinButton | TextInput
        ) {
            continue;
        }
        let rect = node.rect();
        // WCAG 2.2, 2.5.8: 24 by 24 CSS pixels.
        let large = rect.width() >= 24.0 && rect.height() >= 24.0;
        assert!(large, "{name}: {rect:?}");
        let window = egui::Rect::from_min_size(egui::Pos2::ZERO, size.into());
        let label = node.accesskit_node().label();
        assert!(window.contains_rect(rect), "{name}: {label:?} {rect:?}");
        // What a screen reader says of it.
        let is_named = label.is_some_and(|label| !label.trim().is_empty());
        assert!(is_named, "{name}: a {role:?} without a name at {rect:?}");
    }
}

#[test]
fn the_view_menu_has_the_smallest_and_the_largest_zoom() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "View");
    for zoom in [ZOOMS.start(), ZOOMS.end()] {
        let name = format!("Zoom {:.0} %", 100.0 * zoom);
        assert!(harness.query_by_label(&name).is_some(), "{name}");
    }
}

#[test]
fn the_smallest_and_the_largest_zoom_cut_nothing_off() {
    for state in [State::Measured, State::CycleRuns, State::DragHeld] {
        for size in [SIZES[0], SIZES[3]] {
            for zoom in [*ZOOMS.start(), *ZOOMS.end()] {
                let harness = zoomed(state, Theme::Dark, View::default(), size, zoom);
                assert_within_reach(&harness, size, &format!("{state:?} {size:?} at {zoom}"));
            }
        }
    }
}

#[test]
fn both_themes_and_all_figures_are_drawn() {
    for theme in [Theme::Light, Theme::Dark] {
        for figure in [Figure::Plan, Figure::Kit, Figure::Lag, Figure::MonoSum] {
            let view = View {
                figure,
                ..View::default()
            };
            window(State::Measured, theme, view, [720.0, 460.0]);
        }
    }
}

/// Parts of what the decks say in each state.
const DECKS_SAY: [(State, &[&str]); 7] = {
    use State::*;
    [
        (DecksAtRest, &["the decks wait for the host to run"]),
        (
            HandAtNull,
            &[
                "now 0.00 ms: at the null point",
                "the transport is stopped",
                "Comb now: no notches",
            ],
        ),
        (
            CycleRuns,
            &[
                "moving deck early",
                "null point in 3.",
                "Comb now: notches at",
                "Length",
            ],
        ),
        (
            PassCued,
            &[
                "now −1.11 ms",
                "the pass runs; null point in 0.7 bars; first notch 450 Hz; −53.3 samples",
                "notches at 450, 1.35k, 2.25k",
                "Start pass",
            ],
        ),
        (
            DragHeld,
            &[
                "now +0.80 ms: moving deck late",
                "speed difference −0.02 %",
                "Brake by hand",
            ],
        ),
        (
            DecksUnequal,
            &[
                "first (full) notches at",
                "second (dashed) notches at",
                "Rate",
            ],
        ),
        (
            DecksMono,
            &[
                "now +12.00 ms",
                "at its stop, 12.0 ms late",
                "notches at 42, 125, 208",
            ],
        ),
    ]
};

#[test]
fn the_decks_say_where_they_are() {
    for (state, parts) in DECKS_SAY {
        let text = letters(&usual(state)) + "\n" + &letters(&comb_only(state));
        for part in parts {
            assert!(text.contains(part), "{state:?}: {part:?} is not in\n{text}");
        }
    }
}

#[test]
fn the_decks_say_what_they_wait_for() {
    let mut harness = usual(State::HandAtNull);
    click(&mut harness, "Engage");
    assert!(letters(&harness).contains("Engage is off: the fixed deck alone"));
    click(&mut harness, "Motion Pass");
    assert!(letters(&harness).contains("the pass waits for Start pass"));
}

/// The comb in a small window.
fn comb_only(state: State) -> egui_kittest::Harness<'static, super::TestWindow> {
    let view = View {
        graph: Graph::Comb,
        ..View::default()
    };
    window(state, Theme::Dark, view, [720.0, 460.0])
}

#[test]
fn the_placement_page_reads_the_newest_hits() {
    let mut harness = usual(State::Measured);
    click(&mut harness, "Placement");
    let text = letters(&harness);
    assert!(text.contains("Last hits: +3."), "{text}");
    assert!(text.contains("Move second 3."), "{text}");
    assert!(text.contains("the last hit was buried"), "{text}");
    click(&mut harness, "Placement");
    assert!(harness.query_by_label("Anchor Later").is_some());
}

#[test]
fn an_idle_window_does_not_ask_to_be_drawn_again() {
    let harness = usual(State::Measured);
    let viewports = &harness.output().viewport_output;
    let delay = viewports
        .values()
        .map(|viewport| viewport.repaint_delay)
        .min();
    assert_eq!(delay, Some(std::time::Duration::MAX));
}
