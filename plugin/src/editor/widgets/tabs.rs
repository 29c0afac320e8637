//! A row of tabs: which of several drawings a small window shows.

use super::button::{ButtonState, button_width, text_button};
use crate::editor::action::Action;
use egui::{Rect, Ui, pos2, vec2};

/// Room between tabs, points.
const GAP: f32 = 4.0;

/// Width of a row of tabs with these names.
pub fn tabs_width<T>(ui: &Ui, all: &[(&str, T)]) -> f32 {
    let widths = all.iter().map(|(name, _)| button_width(ui, name) + GAP);
    widths.sum::<f32>() - GAP
}

/// Draws a tab for each name and follows the user; `action` turns a value into what its tab asks for.
pub fn tabs<T: Copy + PartialEq>(
    ui: &Ui,
    row: Rect,
    all: &[(&str, T)],
    shown: T,
    action: fn(T) -> Action,
    actions: &mut Vec<Action>,
) {
    let mut left = row.min.x;
    for &(name, value) in all {
        let size = vec2(button_width(ui, name), row.height());
        let rect = Rect::from_min_size(pos2(left, row.min.y), size);
        left += size.x + GAP;
        let id = ui.scope_id().with(("tab", name));
        let state = ButtonState::of(shown == value);
        if text_button(ui, rect, id, name, name, state).clicked() {
            actions.push(action(value));
        }
    }
}
