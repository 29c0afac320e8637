//! The whole sheet of Sweep: the course of the moving deck, the comb, the strip for the hand, and the controls.

use super::columns::{GAP, MARGIN, columns};
use super::sweep_controls::items;
use crate::editor::action::{Action, Graph};
use crate::editor::frame::Frame;
use crate::editor::views::{comb_view, course_view, hand_strip};
use crate::editor::widgets::{control_rows, control_rows_height, tabs};
use egui::{Rect, Ui, vec2};

/// Below this height course and comb share one place.
const TWO_ROWS: f32 = 360.0;

/// The drawings of a small window.
const GRAPHS: [(&str, Graph); 2] = [("Course", Graph::Offset), ("Comb", Graph::Comb)];

/// Draws it and follows the user. `graph` is the drawing that a small window shows.
pub fn sweep_page(ui: &mut Ui, rect: Rect, frame: &Frame, graph: Graph, actions: &mut Vec<Action>) {
    let height = control_rows_height(ui, rect.width(), items(frame));
    let (sheet, controls) = rect.split_top_bottom_at_y(rect.max.y - height);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    match sheet.height() >= TWO_ROWS {
        true => three(ui, sheet, frame, actions),
        false => two(ui, sheet, frame, graph, actions),
    }
    control_rows(ui, controls, items(frame), frame, actions);
}

fn three(ui: &mut Ui, sheet: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.51);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (comb, hand) = columns(lower, 0.68);
    course_view(ui, upper, frame);
    comb_view(ui, comb, frame);
    hand_strip(ui, hand, frame, actions);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, graph: Graph, actions: &mut Vec<Action>) {
    let (left, hand) = columns(sheet, 0.66);
    let (row, place) = left.split_top_bottom_at_y(left.min.y + 26.0);
    tabs(ui, row, &GRAPHS, graph, Action::Graph, actions);
    let place = place.with_min_y(place.min.y + 4.0);
    match graph {
        Graph::Offset => course_view(ui, place, frame),
        Graph::Comb => comb_view(ui, place, frame),
    }
    hand_strip(ui, hand, frame, actions);
}
