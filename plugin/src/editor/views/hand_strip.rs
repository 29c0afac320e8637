//! The hand strip: brakes a deck until it is let go, or puts the moving deck where it is wanted.

use super::strip_gestures::{brake, move_offset};
use super::strip_use::StripUse;
use crate::editor::action::Action;
use crate::editor::drawing::{Canvas, describe, digit_font, panel, signed, text_font};
use crate::editor::frame::Frame;
use crate::editor::widgets::focus_outline;
use egui::{
    Align2, CursorIcon, Rangef, Rect, Role, Sense, Ui, WidgetInfo, lerp, pos2, remap_clamp, vec2,
};

/// Height of the strip, points.
const HEIGHT: f32 = 56.0;
/// Width of the handle, points.
const HANDLE: f32 = 24.0;

/// Draws the panel and follows the user.
pub fn hand_strip(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let strip_use = StripUse::of(frame);
    let inner = panel(ui, rect, strip_use.caption(frame.decks.course.motion));
    let bar = bar(inner);
    let path = path(bar);
    let knob = frame.knobs.get(strip_use.control());
    let response = ui
        .interact(bar, ui.scope_id().with("strip"), Sense::click_and_drag())
        .on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    response.widget_info(|| WidgetInfo::slider(true, f64::from(knob.value), strip_use.name()));
    let value = match strip_use {
        StripUse::Brake => brake(ui, &response, path, frame, actions),
        StripUse::Offset => move_offset(ui, &response, path, frame, actions),
    };
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    draw(&canvas, bar, remap_clamp(value, knob.min..=knob.max, path));
    if response.has_focus() || response.hovered() {
        focus_outline(ui, bar);
    }
    ends(&canvas, bar, strip_use, value);
    speed(ui, &canvas, inner, frame);
    if !response.dragged() {
        response.on_hover_text(strip_use.tip());
    }
}

fn bar(inner: Rect) -> Rect {
    let height = HEIGHT.min(inner.height() - 60.0).max(28.0);
    let middle = inner.center() - vec2(0.0, 12.0);
    Rect::from_center_size(middle, vec2(inner.width() - 16.0, height))
}

/// Where the middle of the handle can go.
fn path(bar: Rect) -> Rangef {
    bar.x_range().shrink(HANDLE / 2.0 + 4.0)
}

fn draw(canvas: &Canvas, bar: Rect, x: f32) {
    canvas.fill(bar, canvas.palette.grid);
    canvas.frame(bar, 1.0, canvas.palette.edge);
    let path = path(bar);
    for tick in 0..=12 {
        let at = lerp(path.min..=path.max, tick as f32 / 12.0);
        let from = pos2(at, bar.min.y);
        canvas.line(from, from + vec2(0.0, 6.0), 1.0, canvas.palette.muted);
    }
    let middle = bar.center().x;
    canvas.line(
        pos2(middle, bar.min.y - 6.0),
        pos2(middle, bar.max.y + 6.0),
        1.2,
        canvas.palette.foreground,
    );
    let handle = Rect::from_center_size(pos2(x, bar.center().y), vec2(HANDLE, bar.height() - 12.0));
    canvas
        .painter
        .rect_filled(handle, 2.0, canvas.palette.foreground);
}

/// What the ends mean, and the value in the middle.
fn ends(canvas: &Canvas, bar: Rect, strip_use: StripUse, value: f32) {
    let y = bar.max.y + 16.0;
    let [left, at_rest, right] = strip_use.ends();
    let middle = match strip_use {
        StripUse::Brake if value != 0.0 => format!("{} %", signed(f64::from(value), 0)),
        StripUse::Offset => format!("{} ms", signed(f64::from(value), 2)),
        StripUse::Brake => at_rest.to_owned(),
    };
    canvas.caption(pos2(bar.min.x, y), Align2::LEFT_CENTER, left);
    canvas.caption(pos2(bar.max.x, y), Align2::RIGHT_CENTER, right);
    let at = pos2(bar.center().x, y);
    let (font, color) = (text_font(12.0), canvas.palette.foreground);
    canvas.text(at, Align2::CENTER_CENTER, middle, font, color);
}

/// By how much the decks' speeds differ.
fn speed(ui: &Ui, canvas: &Canvas, inner: Rect, frame: &Frame) {
    let percent = 100.0 * frame.decks.speed_difference();
    let text = format!("speed difference {} %", signed(percent, 2));
    let at = pos2(inner.max.x - 8.0, inner.max.y - 8.0);
    let text_rect = canvas.text(
        at,
        Align2::RIGHT_CENTER,
        &text,
        digit_font(12.0),
        canvas.palette.muted,
    );
    let response = describe(ui, text_rect, "speed", Role::Label, &text);
    response.on_hover_text("Moving deck's speed against the fixed deck's. A slow deck gets late.");
}
