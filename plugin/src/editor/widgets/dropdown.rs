//! A drop-down list: the selected option in a box that opens the others.

use super::button::{button_width, focus_outline};
use super::choice::Choice;
use crate::editor::action::{Action, set_at_once};
use crate::editor::drawing::{palette, text_font};
use crate::editor::frame::Knobs;
use egui::{
    Align2, CursorIcon, Popup, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, vec2,
};

/// Room for the mark that it opens, points.
const MARK: f32 = 16.0;

/// Width of the longest option in its box.
pub fn dropdown_width(ui: &Ui, spec: &Choice) -> f32 {
    let widths = spec
        .options
        .iter()
        .map(|option| button_width(ui, option.word));
    widths.fold(0.0, f32::max) + MARK
}

/// Draws it and follows the user.
pub fn dropdown(ui: &Ui, rect: Rect, spec: &Choice, knobs: &Knobs, actions: &mut Vec<Action>) {
    let chosen = knobs.choice(spec.control);
    let Some(option) = spec.options.get(chosen) else {
        return;
    };
    let response = ui
        .interact(rect, ui.scope_id().with(spec.control), Sense::click())
        .on_hover_cursor(CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(option.word.to_owned()),
        ..WidgetInfo::labeled(Role::ComboBox, true, spec.title)
    });
    draw(ui, rect, option.word);
    if response.has_focus() || response.hovered() {
        focus_outline(ui, rect);
    }
    Popup::menu(&response).show(|ui| {
        for (index, option) in spec.options.iter().enumerate() {
            let line = ui
                .radio(index == chosen, option.word)
                .on_hover_text(option.tip);
            if line.clicked() && index != chosen {
                actions.extend(set_at_once(spec.control, index as f32));
            }
        }
    });
    response.on_hover_text(option.tip);
}

fn draw(ui: &Ui, rect: Rect, word: &str) {
    let palette = palette(ui);
    let edge = Stroke::new(1.0, palette.edge);
    let painter = ui.painter();
    painter.rect(rect, 2.0, palette.panel, edge, StrokeKind::Inside);
    let at = rect.left_center() + vec2(8.0, 0.0);
    painter.text(
        at,
        Align2::LEFT_CENTER,
        word,
        text_font(13.0),
        palette.foreground,
    );
    let tip = rect.right_center() + vec2(-11.0, 3.0);
    let corners = vec![tip, tip + vec2(-4.0, -6.0), tip + vec2(4.0, -6.0)];
    painter.add(Shape::convex_polygon(corners, palette.muted, Stroke::NONE));
}
