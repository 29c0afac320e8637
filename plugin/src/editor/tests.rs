//! The sheet without a window: every state drawn, every control found by its name and moved by hand.

mod by_hand;
mod cost;
mod decks_by_hand;
mod drawn;
mod states;

use super::control::{Action, Control};
use super::decks::Decks;
use super::frame::Frame;
use super::sheet::{Sheet, View, sheet};
use crate::desk::Paper;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use states::{State, decks_as_set};

/// A sheet on the desk and what hands have done to it.
struct Desk {
    sheet: Sheet,
    actions: Vec<Action>,
}

impl Desk {
    /// Does to the sheet what a host and a window would do.
    fn draw(ui: &mut egui::Ui, desk: &mut Self) {
        let mut actions = Vec::new();
        sheet(ui, &desk.sheet, &mut actions);
        for action in &actions {
            match *action {
                Action::Set(control, value) => desk.sheet.frame.set(control, value),
                Action::Paper(paper) => desk.sheet.paper = paper,
                Action::Page(page) => desk.sheet.view.page = page,
                Action::Figure(figure) => desk.sheet.view.figure = figure,
                Action::Graph(graph) => desk.sheet.view.graph = graph,
                _ => {}
            }
        }
        desk.actions.extend(actions);
    }
}

impl Frame {
    fn set(&mut self, control: Control, value: f32) {
        self.knobs.set(control, value);
        self.decks = Decks {
            trail: self.decks.trail,
            song: self.decks.song,
            ..decks_as_set(&self.knobs)
        };
    }
}

/// A window of a size with one state up.
fn window(state: State, paper: Paper, view: View, size: [f32; 2]) -> Harness<'static, Desk> {
    zoomed(state, paper, view, size, 1.0)
}

/// The same with so many pixels a point.
fn zoomed(
    state: State,
    paper: Paper,
    view: View,
    size: [f32; 2],
    zoom: f32,
) -> Harness<'static, Desk> {
    let sheet = Sheet {
        frame: state.frame(),
        paper,
        view,
    };
    let desk = Desk {
        sheet,
        actions: Vec::new(),
    };
    let mut harness = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(zoom)
        .build_ui_state(Desk::draw, desk);
    harness.run();
    harness
}

/// The usual window on the light sheet.
fn usual(state: State) -> Harness<'static, Desk> {
    window(state, Paper::Light, View::default(), [1080.0, 680.0])
}

/// What hands have done so far.
fn done<'a>(harness: &'a Harness<'_, Desk>) -> &'a [Action] {
    &harness.state().actions
}

/// One whole gesture on `control` and nothing else; the values in between.
fn gesture(actions: &[Action], control: Control) -> Vec<f32> {
    let [Action::Begin(first), values @ .., Action::End(last)] = actions else {
        panic!("no whole gesture: {actions:?}");
    };
    assert_eq!((*first, *last), (control, control), "{actions:?}");
    let value = |action: &Action| match action {
        Action::Set(moved, value) if *moved == control => *value,
        other => panic!("{other:?} within a gesture of {control:?}"),
    };
    values.iter().map(value).collect()
}

/// All lettering that is there for those who cannot see it.
fn letters(harness: &Harness<'_, Desk>) -> String {
    let nodes = harness.root().children_recursive();
    let labels = nodes.filter_map(|node| {
        let node = node.accesskit_node();
        node.label().or(node.value())
    });
    labels.collect::<Vec<_>>().join("\n")
}

fn click(harness: &mut Harness<'_, Desk>, name: &str) {
    harness.get_by_label(name).click();
    harness.run();
}
