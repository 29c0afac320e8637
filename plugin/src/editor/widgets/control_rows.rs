//! Rows of controls under a page, as many as the width asks for.

use super::button::{HEIGHT, button_width, text_width};
use super::choice::{Choice, Switch, choice, choice_width, switch};
use super::dropdown::{dropdown, dropdown_width};
use super::momentary::momentary;
use super::number::NumberField;
use super::number_field::number_field;
use super::unit::Unit;
use crate::editor::action::Action;
use crate::editor::drawing::{palette, text_font};
use crate::editor::frame::Frame;
use egui::{Align2, Rect, Ui, pos2, vec2};

/// A row with its captions, points.
const ROW: f32 = 50.0;
/// Room between controls, points.
const GAP: f32 = 8.0;
/// Size of the titles over controls.
const TITLE: f32 = 11.0;

/// One control of a row.
#[derive(Clone, Copy)]
pub enum ControlItem {
    Switch(&'static Switch),
    /// On only while it is pressed.
    Momentary(&'static Switch),
    Choice(&'static Choice),
    /// A choice that opens when it is pressed.
    Dropdown(&'static Choice),
    Number(&'static NumberField),
}

impl ControlItem {
    /// As wide as what stands in it and as its title.
    fn width(self, ui: &Ui) -> f32 {
        let title = text_width(ui, self.title(), text_font(TITLE));
        self.control_width(ui).max(title)
    }

    fn control_width(self, ui: &Ui) -> f32 {
        match self {
            Self::Switch(spec) | Self::Momentary(spec) => button_width(ui, spec.word) + 12.0,
            Self::Choice(spec) => choice_width(ui, spec),
            Self::Dropdown(spec) => dropdown_width(ui, spec),
            Self::Number(spec) => match spec.unit {
                Unit::Percent | Unit::Weighted => 64.0,
                Unit::Hertz => 66.0,
                Unit::Celsius => 78.0,
                Unit::DecibelsFullScale | Unit::Nanowebers => 98.0,
                _ => 88.0,
            },
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Switch(_) | Self::Momentary(_) => "",
            Self::Choice(spec) | Self::Dropdown(spec) => spec.title,
            Self::Number(spec) => spec.title,
        }
    }
}

/// Items by rows, each with its width.
fn rows(ui: &Ui, room: f32, items: Vec<ControlItem>) -> Vec<Vec<(ControlItem, f32)>> {
    let mut rows: Vec<Vec<(ControlItem, f32)>> = vec![Vec::new()];
    let mut used = 0.0;
    for item in items {
        let width = item.width(ui);
        if used > 0.0 && used + width > room {
            rows.push(Vec::new());
            used = 0.0;
        }
        used += width + GAP;
        let row = rows.len() - 1;
        rows[row].push((item, width));
    }
    rows
}

/// Height of the rows in a window of this width.
pub fn control_rows_height(ui: &Ui, window_width: f32, items: Vec<ControlItem>) -> f32 {
    rows(ui, window_width - 40.0, items).len() as f32 * ROW + 18.0
}

/// Draws them and follows the user.
pub fn control_rows(
    ui: &mut Ui,
    rect: Rect,
    items: Vec<ControlItem>,
    frame: &Frame,
    actions: &mut Vec<Action>,
) {
    let mut top = rect.min.y + 6.0;
    for row in rows(ui, rect.width() - 40.0, items) {
        let mut left = rect.min.x + 20.0;
        for (item, width) in row {
            let control = Rect::from_min_size(pos2(left, top + 18.0), vec2(width, HEIGHT));
            show(ui, control, item, frame, actions);
            left += width + GAP;
        }
        top += ROW;
    }
}

/// One control under its title.
fn show(ui: &mut Ui, rect: Rect, item: ControlItem, frame: &Frame, actions: &mut Vec<Action>) {
    let at = rect.left_top() - vec2(0.0, 3.0);
    let (font, color) = (text_font(TITLE), palette(ui).muted);
    ui.painter()
        .text(at, Align2::LEFT_BOTTOM, item.title(), font, color);
    let knobs = &frame.knobs;
    match item {
        ControlItem::Switch(spec) => switch(ui, rect, spec, knobs, actions),
        ControlItem::Momentary(spec) => momentary(ui, rect, spec, knobs, actions),
        ControlItem::Choice(spec) => choice(ui, rect, spec, knobs, actions),
        ControlItem::Dropdown(spec) => dropdown(ui, rect, spec, knobs, actions),
        ControlItem::Number(spec) => number_field(ui, rect, spec, frame, actions),
    }
}
