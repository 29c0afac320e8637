//! The page of Align: plan, gap, lag, mono sum, and the controls under them.

use super::align_controls::items;
use super::columns::{GAP, MARGIN, columns};
use crate::editor::action::{Action, Figure};
use crate::editor::frame::Frame;
use crate::editor::views::{gap_view, kit_view, lag_view, mono_sum_view, plan_view};
use crate::editor::widgets::{control_rows, control_rows_height, tabs};
use egui::{Rect, Ui, pos2, vec2};

/// Below this height the drawings share one panel.
const TWO_ROWS: f32 = 430.0;
/// Below this width as well.
const TWO_COLUMNS: f32 = 860.0;

/// The drawings of a small window.
const FIGURES: [(&str, Figure); 4] = [
    ("Plan", Figure::Plan),
    ("Kit", Figure::Kit),
    ("Lag", Figure::Lag),
    ("Mono sum", Figure::MonoSum),
];

/// What a large window shows in the panel under the plan.
const UNDER_THE_PLAN: [(&str, Figure); 2] = [("Kit", Figure::Kit), ("Lag", Figure::Lag)];

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
        true => four(ui, sheet, frame, figure, actions),
        false => two(ui, sheet, frame, figure, actions),
    }
    control_rows(ui, controls, items(frame), frame, actions);
}

fn four(ui: &mut Ui, sheet: Rect, frame: &Frame, figure: Figure, actions: &mut Vec<Action>) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.62);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (plan, gap) = columns(upper, 0.545);
    let (lag, sum) = columns(lower, 0.545);
    plan_view(ui, plan, frame);
    gap_view(ui, gap, frame);
    let under = match figure {
        Figure::Lag => Figure::Lag,
        _ => Figure::Kit,
    };
    match under {
        Figure::Lag => lag_view(ui, lag, frame),
        _ => kit_view(ui, lag, frame, actions),
    }
    let row = Rect::from_min_max(
        pos2(lag.max.x - 96.0, lag.min.y + 3.0),
        pos2(lag.max.x, lag.min.y + 27.0),
    );
    tabs(ui, row, &UNDER_THE_PLAN, under, Action::Figure, actions);
    mono_sum_view(ui, sum, frame);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, figure: Figure, actions: &mut Vec<Action>) {
    let (left, gap) = columns(sheet, 0.5);
    let (row, drawing) = left.split_top_bottom_at_y(left.min.y + 26.0);
    tabs(ui, row, &FIGURES, figure, Action::Figure, actions);
    let drawing = drawing.with_min_y(drawing.min.y + 4.0);
    match figure {
        Figure::Plan => plan_view(ui, drawing, frame),
        Figure::Kit => kit_view(ui, drawing, frame, actions),
        Figure::Lag => lag_view(ui, drawing, frame),
        Figure::MonoSum => mono_sum_view(ui, drawing, frame),
    }
    gap_view(ui, gap, frame);
}
