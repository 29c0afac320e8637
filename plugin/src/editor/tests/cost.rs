//! What one frame of the window costs: layout and tessellation, without a graphics card. A benchmark, not a test.

use super::fixtures::tape_as_set;
use super::state::{DECKS, State};
use crate::editor::action::{ControlTab, Page};
use crate::editor::frame::{Control, Frame};
use crate::editor::pages::{Content, View, show};
use crate::session::Theme;
use egui::{Context, Pos2, RawInput, Rect, Vec2};
use plumbline_dsp::decks::preview::DeckState;
use std::time::Instant;

const FRAMES: usize = 200;
/// The first frames lay out every text anew.
const WARM_UP: usize = 20;
/// The largest window.
const SIZE: Vec2 = Vec2::new(1800.0, 1200.0);

/// From one frame to the next, seconds.
const STEP_S: f64 = 1.0 / 60.0;

/// A nudge is dragged, and the moving deck goes on.
fn go_on(frame: &mut Frame, number: usize) {
    frame.knobs.set(Control::NudgeSecond, 0.01 * number as f32);
    frame.tape = tape_as_set(&frame.knobs);
    let Some(deck) = frame.decks.now() else {
        return;
    };
    let offset_s = frame.decks.preview().offset_s(STEP_S);
    frame.decks.history.follow(Some(DeckState {
        position: deck.position.after(STEP_S),
        offset_s: offset_s.unwrap_or(deck.offset_s + 1e-6),
        ..deck
    }));
}

/// What a window can have up.
const UP: [(Page, ControlTab); 5] = [
    (Page::Drawings, ControlTab::Mode),
    (Page::Drawings, ControlTab::Tape),
    (Page::Placement, ControlTab::Mode),
    (Page::Recall, ControlTab::Mode),
    (Page::Presets, ControlTab::Mode),
];

/// Milliseconds of the median frame while its data change.
fn median_ms(state: State, (page, tab): (Page, ControlTab)) -> f64 {
    let context = Context::default();
    let mut drawn = Content {
        frame: state.frame(),
        theme: Theme::Light,
        view: View {
            page,
            tab,
            ..View::default()
        },
    };
    let mut costs: Vec<f64> = (0..FRAMES)
        .map(|number| {
            go_on(&mut drawn.frame, number);
            let input = RawInput {
                screen_rect: Some(Rect::from_min_size(Pos2::ZERO, SIZE)),
                time: Some(number as f64 * STEP_S),
                ..RawInput::default()
            };
            let begun = Instant::now();
            let mut output = context.run_ui(input, |ui| show(ui, &drawn, &mut Vec::new()));
            let meshes = context.tessellate(output.shapes, output.pixels_per_point);
            let cost = begun.elapsed().as_secs_f64() * 1e3;
            // Nobody paints them.
            output.textures_delta.clear();
            assert!(!meshes.is_empty());
            cost
        })
        .skip(WARM_UP)
        .collect();
    costs.sort_by(f64::total_cmp);
    costs[costs.len() / 2]
}

#[test]
#[ignore = "a benchmark: cargo test --release -p plumbline --lib frame_cost -- --ignored --nocapture"]
fn frame_cost() {
    let states = State::ALL.into_iter().chain(DECKS);
    let all = states.flat_map(|state| UP.map(|up| (state, up)));
    let costs: Vec<_> = all
        .map(|(state, up)| (state, up, median_ms(state, up)))
        .collect();
    for (state, (page, tab), ms) in &costs {
        println!("{state:?}, {page:?}, {tab:?}: {ms:.2} ms");
    }
    let busiest = costs.into_iter().max_by(|a, b| a.2.total_cmp(&b.2));
    let (state, (page, tab), ms) = busiest.expect("there are states");
    println!(
        "busiest: {state:?}, {page:?}, {tab:?}, {ms:.2} ms a frame of {SIZE:?}, median of {FRAMES}"
    );
}
