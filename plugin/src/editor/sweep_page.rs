//! The whole sheet of Sweep: the course of the moving deck, the comb, the strip for the hand, and the controls.

use super::align_page::columns;
use super::comb_view::comb_view;
use super::control::{Action, Graph};
use super::course_view::course_view;
use super::foot::{self, foot};
use super::frame::Frame;
use super::strip::strip;
use super::sweep_controls::items;
use super::switch::{Is, width, word};
use egui::{Rect, Ui, pos2, vec2};

/// Room around drawings, points.
const MARGIN: f32 = 20.0;
const GAP: f32 = 14.0;
/// Below this height course and comb share one place.
const TWO_ROWS: f32 = 360.0;

/// Draws it and follows the hand. `graph` is the drawing that a small window shows.
pub fn sweep_page(ui: &mut Ui, rect: Rect, frame: &Frame, graph: Graph, actions: &mut Vec<Action>) {
    let height = foot::height(ui, rect.width(), items(frame));
    let (sheet, controls) = rect.split_top_bottom_at_y(rect.max.y - height);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    match sheet.height() >= TWO_ROWS {
        true => three(ui, sheet, frame, actions),
        false => two(ui, sheet, frame, graph, actions),
    }
    foot(ui, controls, items(frame), frame, actions);
}

fn three(ui: &mut Ui, sheet: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.51);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (comb, hand) = columns(lower, 0.68);
    course_view(ui, upper, frame);
    comb_view(ui, comb, frame);
    strip(ui, hand, frame, actions);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, graph: Graph, actions: &mut Vec<Action>) {
    let (left, hand) = columns(sheet, 0.66);
    let (tabs, place) = left.split_top_bottom_at_y(left.min.y + 26.0);
    graphs(ui, tabs, graph, actions);
    let place = place.with_min_y(place.min.y + 4.0);
    match graph {
        Graph::Offset => course_view(ui, place, frame),
        Graph::Comb => comb_view(ui, place, frame),
    }
    strip(ui, hand, frame, actions);
}

/// Which drawing is up.
fn graphs(ui: &Ui, row: Rect, graph: Graph, actions: &mut Vec<Action>) {
    let mut left = row.min.x;
    for (name, this) in [("Course", Graph::Offset), ("Comb", Graph::Comb)] {
        let size = vec2(width(ui, name), row.height());
        let place = Rect::from_min_size(pos2(left, row.min.y), size);
        left += size.x + 4.0;
        let id = ui.scope_id().with(("graph", name));
        if word(ui, place, id, name, name, Is::when(graph == this)).clicked() {
            actions.push(Action::Graph(this));
        }
    }
}
