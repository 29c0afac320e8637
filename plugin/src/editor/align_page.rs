//! The whole sheet of Align: plan, reading, lag, mono sum, and the controls at its foot.

use super::align_controls::items;
use super::control::{Action, Figure};
use super::foot::{self, foot};
use super::frame::Frame;
use super::lag_view::lag_view;
use super::mono_sum::mono_sum;
use super::plan_view::plan_view;
use super::reading::reading;
use super::switch::{Is, width, word};
use egui::{Rect, Ui, pos2, vec2};

/// Room around drawings, points.
const MARGIN: f32 = 20.0;
const GAP: f32 = 14.0;
/// Below this height the drawings share one place.
const TWO_ROWS: f32 = 430.0;
/// Below this width as well.
const TWO_COLUMNS: f32 = 860.0;

/// Draws it and follows the hand. `figure` is the drawing that a small window shows.
pub fn align_page(
    ui: &mut Ui,
    rect: Rect,
    frame: &Frame,
    figure: Figure,
    actions: &mut Vec<Action>,
) {
    let height = foot::height(ui, rect.width(), items(frame));
    let (sheet, controls) = rect.split_top_bottom_at_y(rect.max.y - height);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    match sheet.height() >= TWO_ROWS && sheet.width() >= TWO_COLUMNS {
        true => four(ui, sheet, frame),
        false => two(ui, sheet, frame, figure, actions),
    }
    foot(ui, controls, items(frame), frame, actions);
}

/// Side by side, the left one with this part of the width.
pub fn columns(sheet: Rect, part: f32) -> (Rect, Rect) {
    let (mut left, mut right) = sheet.split_left_right_at_fraction(part);
    left.max.x -= GAP / 2.0;
    right.min.x += GAP / 2.0;
    (left, right)
}

fn four(ui: &mut Ui, sheet: Rect, frame: &Frame) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.66);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (plan, gap) = columns(upper, 0.545);
    let (lag, sum) = columns(lower, 0.545);
    plan_view(ui, plan, frame);
    reading(ui, gap, frame);
    lag_view(ui, lag, frame);
    mono_sum(ui, sum, frame);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, figure: Figure, actions: &mut Vec<Action>) {
    let (left, gap) = columns(sheet, 0.5);
    let (tabs, place) = left.split_top_bottom_at_y(left.min.y + 26.0);
    figures(ui, tabs, figure, actions);
    let place = place.with_min_y(place.min.y + 4.0);
    match figure {
        Figure::Plan => plan_view(ui, place, frame),
        Figure::Lag => lag_view(ui, place, frame),
        Figure::MonoSum => mono_sum(ui, place, frame),
    }
    reading(ui, gap, frame);
}

/// Which drawing is up.
fn figures(ui: &Ui, row: Rect, figure: Figure, actions: &mut Vec<Action>) {
    let mut left = row.min.x;
    for (name, this) in [
        ("Plan", Figure::Plan),
        ("Lag", Figure::Lag),
        ("Mono sum", Figure::MonoSum),
    ] {
        let size = vec2(width(ui, name), row.height());
        let place = Rect::from_min_size(pos2(left, row.min.y), size);
        left += size.x + 4.0;
        let is = Is::when(figure == this);
        if word(
            ui,
            place,
            ui.scope_id().with(("figure", name)),
            name,
            name,
            is,
        )
        .clicked()
        {
            actions.push(Action::Figure(this));
        }
    }
}
