//! The page of Sweep: the course of the moving deck, the comb, the hand strip or the print, and the controls.

use super::columns::{GAP, MARGIN, columns};
use super::presets_page::presets_page;
use super::sweep_controls::items;
use super::tabbed_controls::TabbedControls;
use super::view::View;
use crate::editor::action::{Action, ControlTab, Graph, Page};
use crate::editor::frame::Frame;
use crate::editor::views::{comb_view, course_view, hand_strip, print_view};
use crate::editor::widgets::tabs;
use egui::{Rect, Ui, vec2};

/// Below this height course and comb share one panel.
const TWO_ROWS: f32 = 360.0;

/// The drawings of a small window.
const GRAPHS: [(&str, Graph); 2] = [("Course", Graph::Offset), ("Comb", Graph::Comb)];

/// Draws it and follows the user.
pub fn sweep_page(ui: &mut Ui, rect: Rect, frame: &Frame, view: &View, actions: &mut Vec<Action>) {
    let tabbed = TabbedControls::of(frame, view.tab, "Decks", items(frame));
    let (sheet, controls) = tabbed.split(ui, rect);
    let sheet = sheet.shrink2(vec2(MARGIN, GAP));
    if view.page == Page::Presets {
        presets_page(ui, sheet, frame, actions);
        return tabbed.show(ui, controls, frame, view.page, actions);
    }
    match sheet.height() >= TWO_ROWS {
        true => three(ui, sheet, frame, view.tab, actions),
        false if view.tab == ControlTab::Tape => print_view(ui, sheet, frame),
        false => two(ui, sheet, frame, view, actions),
    }
    tabbed.show(ui, controls, frame, view.page, actions);
}

fn three(ui: &mut Ui, sheet: Rect, frame: &Frame, tab: ControlTab, actions: &mut Vec<Action>) {
    let (mut upper, mut lower) = sheet.split_top_bottom_at_fraction(0.51);
    upper.max.y -= GAP / 2.0;
    lower.min.y += GAP / 2.0;
    course_view(ui, upper, frame, actions);
    match tab {
        ControlTab::Mode => {
            let (comb, hand) = columns(lower, 0.68);
            comb_view(ui, comb, frame);
            hand_strip(ui, hand, frame, actions);
        }
        ControlTab::Tape => {
            let (comb, print) = columns(lower, 0.36);
            comb_view(ui, comb, frame);
            print_view(ui, print, frame);
        }
    }
}

fn two(ui: &mut Ui, sheet: Rect, frame: &Frame, view: &View, actions: &mut Vec<Action>) {
    let (left, hand) = columns(sheet, 0.66);
    let (row, drawing) = left.split_top_bottom_at_y(left.min.y + 26.0);
    tabs(ui, row, &GRAPHS, view.graph, Action::Graph, actions);
    let drawing = drawing.with_min_y(drawing.min.y + 4.0);
    match view.graph {
        Graph::Offset => course_view(ui, drawing, frame, actions),
        Graph::Comb => comb_view(ui, drawing, frame),
    }
    hand_strip(ui, hand, frame, actions);
}
