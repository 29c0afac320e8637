//! The whole sheet of Align: plan, reading, lag, mono sum, and the controls at its foot.

use super::align_controls::items;
use super::columns::{GAP, MARGIN, columns};
use crate::editor::action::{Action, Figure};
use crate::editor::frame::Frame;
use crate::editor::views::{gap_view, lag_view, mono_sum_view, plan_view};
use crate::editor::widgets::{control_rows, control_rows_height, tabs};
use egui::{Rect, Ui, vec2};

/// Below this height the drawings share one place.
const TWO_ROWS: f32 = 430.0;
/// Below this width as well.
const TWO_COLUMNS: f32 = 860.0;

/// The drawings of a small window.
const FIGURES: [(&str, Figure); 3] = [
    ("Plan", Figure::Plan),
    ("Lag", Figure::Lag),
    ("Mono sum", Figure::MonoSum),
];

/// Draws it and follows the user. `figure` is the drawing that a small window shows.
pub fn align_page(
    ui: &mut Ui,
    rect: Rect,
    frame: &Frame,
    figure: Figure,
    actions: &mut Vec<Action>,
) {
    let height = control_rows_height(ui, rect.width(), items(frame));
    let (sheet, controls) = rect.split_top_bottom_at_y(rect.max.y - height);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    match sheet.height() >= TWO_ROWS && sheet.width() >= TWO_COLUMNS {
        true => four(ui, sheet, frame),
        false => two(ui, sheet, frame, figure, actions),
    }
    control_rows(ui, controls, items(frame), frame, actions);
}

fn four(ui: &mut Ui, sheet: Rect, frame: &Frame) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.66);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (plan, gap) = columns(upper, 0.545);
    let (lag, sum) = columns(lower, 0.545);
    plan_view(ui, plan, frame);
    gap_view(ui, gap, frame);
    lag_view(ui, lag, frame);
    mono_sum_view(ui, sum, frame);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, figure: Figure, actions: &mut Vec<Action>) {
    let (left, gap) = columns(sheet, 0.5);
    let (row, place) = left.split_top_bottom_at_y(left.min.y + 26.0);
    tabs(ui, row, &FIGURES, figure, Action::Figure, actions);
    let place = place.with_min_y(place.min.y + 4.0);
    match figure {
        Figure::Plan => plan_view(ui, place, frame),
        Figure::Lag => lag_view(ui, place, frame),
        Figure::MonoSum => mono_sum_view(ui, place, frame),
    }
    gap_view(ui, gap, frame);
}
