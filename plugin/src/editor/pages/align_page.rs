//! The page of Align: plan, gap, lag, mono sum or print, and the controls under them.

use super::align_controls::items;
use super::columns::{GAP, MARGIN, columns};
use super::presets_page::presets_page;
use super::tabbed_controls::TabbedControls;
use super::view::View;
use crate::editor::action::{Action, ControlTab, Figure, Page};
use crate::editor::frame::Frame;
use crate::editor::views::{gap_view, kit_view, lag_view, mono_sum_view, plan_view, print_view};
use crate::editor::widgets::{tabs, tabs_width};
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

/// Draws it and follows the user.
pub fn align_page(ui: &mut Ui, rect: Rect, frame: &Frame, view: &View, actions: &mut Vec<Action>) {
    let tabbed = TabbedControls::of(frame, view.tab, "Align", items(frame));
    let (sheet, controls) = tabbed.split(ui, rect);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    if view.page == Page::Presets {
        presets_page(ui, sheet, frame, actions);
        return tabbed.show(ui, controls, frame, view.page, actions);
    }
    match sheet.height() >= TWO_ROWS && sheet.width() >= TWO_COLUMNS {
        true => four(ui, sheet, frame, view, actions),
        false if view.tab == ControlTab::Tape => print_view(ui, sheet, frame),
        false => two(ui, sheet, frame, view, actions),
    }
    tabbed.show(ui, controls, frame, view.page, actions);
}

fn four(ui: &mut Ui, sheet: Rect, frame: &Frame, view: &View, actions: &mut Vec<Action>) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.62);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    let (plan, gap) = columns(upper, 0.545);
    plan_view(ui, plan, frame);
    gap_view(ui, gap, frame);
    match view.tab {
        ControlTab::Mode => under_the_plan(ui, lower, frame, view.figure, actions),
        ControlTab::Tape => print_view(ui, lower, frame),
    }
}

/// The kit or the lag, and the mono sum beside it.
fn under_the_plan(
    ui: &mut Ui,
    rect: Rect,
    frame: &Frame,
    figure: Figure,
    actions: &mut Vec<Action>,
) {
    let (left, sum) = columns(rect, 0.545);
    let under = match figure {
        Figure::Lag => Figure::Lag,
        _ => Figure::Kit,
    };
    match under {
        Figure::Lag => lag_view(ui, left, frame),
        _ => kit_view(ui, left, frame, actions),
    }
    let right = left.max.x - 12.0;
    let row = Rect::from_min_max(
        pos2(right - tabs_width(ui, &UNDER_THE_PLAN), left.min.y + 3.0),
        pos2(right, left.min.y + 27.0),
    );
    tabs(ui, row, &UNDER_THE_PLAN, under, Action::Figure, actions);
    mono_sum_view(ui, sum, frame);
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, view: &View, actions: &mut Vec<Action>) {
    let (left, gap) = columns(sheet, 0.5);
    let (row, drawing) = left.split_top_bottom_at_y(left.min.y + 26.0);
    tabs(ui, row, &FIGURES, view.figure, Action::Figure, actions);
    let drawing = drawing.with_min_y(drawing.min.y + 4.0);
    match view.figure {
        Figure::Plan => plan_view(ui, drawing, frame),
        Figure::Kit => kit_view(ui, drawing, frame, actions),
        Figure::Lag => lag_view(ui, drawing, frame),
        Figure::MonoSum => mono_sum_view(ui, drawing, frame),
    }
    gap_view(ui, gap, frame);
}
