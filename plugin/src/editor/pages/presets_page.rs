//! The starting points of both modes, each with its sentence, and the user's own presets.

use crate::editor::action::Action;
use crate::editor::drawing::{describe, palette, panel, text_font};
use crate::editor::frame::{Frame, PresetStatus, Side};
use crate::editor::widgets::{ButtonState, HEIGHT, button_width, focus_outline, text_button};
use crate::presets::{STARTING_POINTS, StartingPoint};
use egui::{
    Align2, CursorIcon, Rect, Role, ScrollArea, Sense, Ui, UiBuilder, WidgetInfo, pos2, vec2,
};

/// Height of one starting point: its name, and its sentence under it.
const ROW: f32 = 36.0;
/// Narrower than this the list has one column.
const TWO_COLUMNS: f32 = 980.0;

/// Draws it and follows the user.
pub fn presets_page(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let inner = panel(
        ui,
        rect,
        "Starting points: each sets what it names and leaves the take alone",
    );
    let (list, files) = inner.split_top_bottom_at_y(inner.max.y - HEIGHT);
    own_presets(ui, files, frame, actions);
    let list = list.with_max_y(list.max.y - 8.0);
    ui.scope_builder(UiBuilder::new().max_rect(list), |ui| {
        ScrollArea::vertical().auto_shrink(false).show(ui, |ui| {
            all(ui, list.width() - 14.0, frame, actions);
        });
    });
}

fn all(ui: &mut Ui, width: f32, frame: &Frame, actions: &mut Vec<Action>) {
    let columns = if width < TWO_COLUMNS { 1 } else { 2 };
    let of_sweep = |start: &StartingPoint| usize::from(start.is_sweep());
    let place = |index: usize| {
        let before = &STARTING_POINTS[..index];
        let column = of_sweep(&STARTING_POINTS[index]).min(columns - 1);
        let above = before
            .iter()
            .filter(|start| of_sweep(start).min(columns - 1) == column);
        (column, above.count())
    };
    let rows = (0..STARTING_POINTS.len())
        .map(|index| place(index).1 + 1)
        .max();
    let height = rows.unwrap_or(0) as f32 * ROW;
    let (room, _) = ui.allocate_exact_size(vec2(width, height), Sense::hover());
    let column_width = width / columns as f32;
    for (index, start) in STARTING_POINTS.iter().enumerate() {
        let (column, row) = place(index);
        let corner = room.min + vec2(column as f32 * column_width, row as f32 * ROW);
        let rect = Rect::from_min_size(corner, vec2(column_width - 12.0, ROW - 1.0));
        if entry(ui, rect, start, frame) {
            actions.push(Action::CallUp(index));
        }
    }
}

/// One starting point; true when it is asked for.
fn entry(ui: &Ui, rect: Rect, start: &StartingPoint, frame: &Frame) -> bool {
    let response = ui
        .interact(rect, ui.scope_id().with(start.name), Sense::click())
        .on_hover_cursor(CursorIcon::PointingHand);
    let up = frame.versions.preset == PresetStatus::CalledUp(start.name.to_owned());
    response.widget_info(|| WidgetInfo::selected(Role::Button, true, up, start.name));
    if response.hovered() || response.has_focus() {
        focus_outline(ui, rect);
    }
    let palette = palette(ui);
    let mode = if start.is_sweep() { "Sweep" } else { "Align" };
    let name = if up {
        palette.second
    } else {
        palette.foreground
    };
    let painter = ui.painter().with_clip_rect(rect.intersect(ui.clip_rect()));
    let left = rect.left_top() + vec2(8.0, 2.0);
    let written = painter.text(left, Align2::LEFT_TOP, start.name, text_font(13.5), name);
    let after = pos2(written.max.x + 8.0, written.max.y - 1.0);
    painter.text(
        after,
        Align2::LEFT_BOTTOM,
        mode,
        text_font(11.0),
        palette.muted,
    );
    let under = left + vec2(0.0, 15.0);
    let about = painter.text(
        under,
        Align2::LEFT_TOP,
        start.about,
        text_font(12.0),
        palette.muted,
    );
    let cut = about.max.x > rect.max.x;
    let response = match cut {
        true => response.on_hover_text(start.about),
        false => response,
    };
    response.clicked()
}

/// The user's own, and the other side.
fn own_presets(ui: &Ui, room: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let other = match frame.versions.side {
        Side::A => "Copy A to B",
        Side::B => "Copy B to A",
    };
    let buttons = [
        (
            "Save preset…",
            Action::SavePreset,
            "Everything that a preset holds, as it stands, to a file of your own.",
        ),
        (
            "Open preset…",
            Action::OpenPreset,
            "A file of your own; a bad one is refused and changes nothing.",
        ),
        (
            other,
            Action::CopySide,
            "The other settings become those that are heard.",
        ),
    ];
    let mut left = room.min.x;
    for (word, action, tip) in buttons {
        let width = button_width(ui, word);
        let rect = Rect::from_min_size(pos2(left, room.min.y), vec2(width, HEIGHT));
        left += width + 8.0;
        let id = ui.scope_id().with(word);
        let response = text_button(ui, rect, id, word, word, ButtonState::Off);
        if response.on_hover_text(tip).clicked() {
            actions.push(action);
        }
    }
    let status = status_words(&frame.versions.preset);
    let rest = room.with_min_x(left + 4.0);
    let palette = palette(ui);
    let painter = ui.painter().with_clip_rect(rest);
    let at = rest.left_center();
    painter.text(
        at,
        Align2::LEFT_CENTER,
        &status,
        text_font(12.0),
        palette.foreground,
    );
    let response = describe(ui, rest, "preset status", Role::Label, &status);
    if !status.is_empty() {
        response.on_hover_text(status);
    }
}

fn status_words(status: &PresetStatus) -> String {
    match status {
        PresetStatus::None => String::new(),
        PresetStatus::Asking => "choose a file".to_owned(),
        PresetStatus::Saved(path) => format!("saved: {path}"),
        PresetStatus::CalledUp(name) => format!("called up: {name}"),
        PresetStatus::Failed(why) => format!("nothing was changed: {why}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::editor::widgets::text_width;
    use egui_kittest::Harness;

    /// Width of a column of the list in a window of the usual size, points: 1080 less the margins, the scroll bar and what
    /// lies between the columns.
    const COLUMN: f32 = (1080.0 - 2.0 * 20.0 - 2.0 * 12.0 - 14.0) / 2.0 - 12.0 - 8.0;

    #[test]
    fn no_sentence_is_cut_in_a_window_of_the_usual_size() {
        let measure = |ui: &mut Ui| {
            for start in STARTING_POINTS {
                let width = text_width(ui, start.about, text_font(12.0));
                assert!(width <= COLUMN, "{}: {width} of {COLUMN}", start.about);
            }
        };
        Harness::new_ui(measure).run();
    }
}
