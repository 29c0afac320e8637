//! A choice of long words: the chosen one in a box that opens the others.

use super::control::{Action, Knobs, set_at_once};
use super::ink::words;
use super::pen::inks;
use super::switch::{Choice, focus, width};
use egui::{
    Align2, CursorIcon, Popup, Rect, Role, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo, vec2,
};

/// Room for the mark that it opens, points.
const MARK: f32 = 16.0;

/// Width of the longest word in its box.
pub fn natural(ui: &Ui, spec: &Choice) -> f32 {
    let widths = spec.picks.iter().map(|pick| width(ui, pick.word));
    widths.fold(0.0, f32::max) + MARK
}

/// Draws it and follows the hand.
pub fn list(ui: &Ui, rect: Rect, spec: &Choice, knobs: &Knobs, actions: &mut Vec<Action>) {
    let chosen = knobs.choice(spec.control);
    let Some(pick) = spec.picks.get(chosen) else {
        return;
    };
    let response = ui
        .interact(rect, ui.scope_id().with(spec.control), Sense::click())
        .on_hover_cursor(CursorIcon::PointingHand);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(pick.word.to_owned()),
        ..WidgetInfo::labeled(Role::ComboBox, true, spec.title)
    });
    draw(ui, rect, pick.word);
    if response.has_focus() || response.hovered() {
        focus(ui, rect);
    }
    Popup::menu(&response).show(|ui| {
        for (index, pick) in spec.picks.iter().enumerate() {
            let line = ui.radio(index == chosen, pick.word).on_hover_text(pick.tip);
            if line.clicked() && index != chosen {
                actions.extend(set_at_once(spec.control, index as f32));
            }
        }
    });
    response.on_hover_text(pick.tip);
}

fn draw(ui: &Ui, rect: Rect, word: &str) {
    let inks = inks(ui);
    let edge = Stroke::new(1.0, inks.edge);
    let painter = ui.painter();
    painter.rect(rect, 2.0, inks.paper, edge, StrokeKind::Inside);
    let at = rect.left_center() + vec2(8.0, 0.0);
    painter.text(at, Align2::LEFT_CENTER, word, words(13.0), inks.ink);
    let tip = rect.right_center() + vec2(-11.0, 3.0);
    let corners = vec![tip, tip + vec2(-4.0, -6.0), tip + vec2(4.0, -6.0)];
    painter.add(Shape::convex_polygon(corners, inks.soft, Stroke::NONE));
}
