//! The content without a window: every state drawn, every control found by its name and moved.
//!
//! Promises that a page is drawn in each state without a window. Called by the test runner; calls pages, widgets and frame,
//! never the host.

mod cost;
mod deck_gestures;
mod double_click;
mod drawn;
mod fixtures;
mod frames;
mod gestures;
mod honesty;
mod keys;
mod kit_map;
mod recall;
mod sentences;
mod state;
mod tape_page;
mod versions;

use crate::editor::action::Action;
use crate::editor::frame::{Control, Decks, Frame};
use crate::editor::pages::{Content, View, show};
use crate::session::Theme;
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use fixtures::{decks_as_set, tape_as_set};
use state::State;

/// A window and what the user has done to it.
struct TestWindow {
    content: Content,
    actions: Vec<Action>,
}

impl TestWindow {
    /// Does to the window what a host and a window would do.
    fn draw(ui: &mut egui::Ui, window: &mut Self) {
        let mut actions = Vec::new();
        show(ui, &window.content, &mut actions);
        for action in &actions {
            match action {
                Action::Set(control, value) => window.content.frame.set(*control, *value),
                Action::Theme(theme) => window.content.theme = *theme,
                Action::Page(page) => window.content.view.page = *page,
                Action::Figure(figure) => window.content.view.figure = *figure,
                Action::Graph(graph) => window.content.view.graph = *graph,
                Action::ControlTab(tab) => window.content.view.tab = *tab,
                Action::Lengths(lengths) => window.content.frame.window.lengths = *lengths,
                Action::Seat(seat) => window.content.frame.window.seat = *seat,
                Action::Handed(handed) => window.content.frame.window.handed = *handed,
                _ => {}
            }
        }
        window.actions.extend(actions);
    }
}

impl Frame {
    fn set(&mut self, control: Control, value: f32) {
        self.knobs.set(control, value);
        self.decks = Decks {
            history: self.decks.history,
            transport: self.decks.transport,
            ..decks_as_set(&self.knobs)
        };
        self.tape = tape_as_set(&self.knobs);
    }
}

/// A window of a size with one state up.
fn window(state: State, theme: Theme, view: View, size: [f32; 2]) -> Harness<'static, TestWindow> {
    zoomed(state, theme, view, size, 1.0)
}

/// The same with so many pixels a point.
fn zoomed(
    state: State,
    theme: Theme,
    view: View,
    size: [f32; 2],
    zoom: f32,
) -> Harness<'static, TestWindow> {
    let content = Content {
        frame: state.frame(),
        theme,
        view,
    };
    let shown = TestWindow {
        content,
        actions: Vec::new(),
    };
    let mut harness = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(zoom)
        .build_ui_state(TestWindow::draw, shown);
    harness.run();
    harness
}

/// The usual window in the light theme.
fn usual(state: State) -> Harness<'static, TestWindow> {
    window(state, Theme::Light, View::default(), [1080.0, 680.0])
}

/// What the user has done so far.
fn done<'a>(harness: &'a Harness<'_, TestWindow>) -> &'a [Action] {
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
fn letters(harness: &Harness<'_, TestWindow>) -> String {
    let nodes = harness.root().children_recursive();
    let labels = nodes.filter_map(|node| {
        let node = node.accesskit_node();
        node.label().or(node.value())
    });
    labels.collect::<Vec<_>>().join("\n")
}

fn click(harness: &mut Harness<'_, TestWindow>, name: &str) {
    harness.get_by_label(name).click();
    harness.run();
}

/// The names of what the Tab key reaches, pressed so often.
fn reached_by_tab(harness: &mut Harness<'_, TestWindow>, presses: usize) -> Vec<String> {
    let mut reached = Vec::new();
    for _ in 0..presses {
        harness.key_press(Key::Tab);
        harness.run();
        let nodes = harness.root().children_recursive();
        let focused = nodes.filter(|node| node.is_focused());
        reached.extend(focused.filter_map(|node| node.accesskit_node().label()));
    }
    reached
}
