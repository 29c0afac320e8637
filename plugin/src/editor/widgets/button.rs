//! A text button, pressed or not, and the outline that shows keyboard focus.

use crate::editor::drawing::{control_box, palette, text_font};
use egui::{
    Align2, CursorIcon, FontId, Id, Rect, Response, Role, Sense, Stroke, StrokeKind, Ui, WidgetInfo,
};

/// Height of every control, points.
pub const HEIGHT: f32 = 28.0;
/// Room beside a text, both sides together, points.
const PADDING: f32 = 16.0;

/// Whether a button is shown as selected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ButtonState {
    On,
    Off,
    /// Pressing it does nothing at present.
    Idle,
}

impl ButtonState {
    /// Of something that can be done, or not at present.
    pub fn possible(possible: bool) -> Self {
        if possible { Self::Off } else { Self::Idle }
    }

    /// Of a condition.
    pub fn of(condition: bool) -> Self {
        if condition { Self::On } else { Self::Off }
    }
}

/// A button that knows how long it is held: a click ends by itself after a moment, a drag does not.
pub fn held_button(ui: &Ui, rect: Rect, id: Id, word: &str, state: ButtonState) -> Response {
    button(ui, rect, id, word, word, state, Sense::click_and_drag())
}

/// A text in a box that can be pressed. `name` is what it is called without the drawing around it.
pub fn text_button(
    ui: &Ui,
    rect: Rect,
    id: Id,
    text: &str,
    name: &str,
    state: ButtonState,
) -> Response {
    button(ui, rect, id, text, name, state, Sense::click())
}

fn button(
    ui: &Ui,
    rect: Rect,
    id: Id,
    text: &str,
    name: &str,
    state: ButtonState,
    sense: Sense,
) -> Response {
    let response = ui
        .interact(rect, id, sense)
        .on_hover_cursor(CursorIcon::PointingHand);
    let selected = state == ButtonState::On;
    let enabled = state != ButtonState::Idle;
    response.widget_info(|| WidgetInfo::selected(Role::Button, enabled, selected, name));
    let palette = palette(ui);
    let (fill, color) = match state {
        ButtonState::On => (palette.foreground, palette.background),
        ButtonState::Off => (palette.panel, palette.foreground),
        ButtonState::Idle => (palette.panel, palette.muted),
    };
    control_box(ui, rect, fill);
    if response.has_focus() || response.hovered() {
        outline(ui, rect, state);
    }
    ui.painter().text(
        rect.center(),
        Align2::CENTER_CENTER,
        text,
        text_font(13.0),
        color,
    );
    response
}

/// Shows where the keyboard or the mouse is.
fn outline(ui: &Ui, rect: Rect, state: ButtonState) {
    let palette = palette(ui);
    let color = match state {
        ButtonState::On => palette.background,
        ButtonState::Off | ButtonState::Idle => palette.foreground,
    };
    let stroke = Stroke::new(1.5, color);
    ui.painter()
        .rect_stroke(rect.shrink(2.0), 1.0, stroke, StrokeKind::Inside);
}

/// Shows a control's focus around its box.
pub fn focus_outline(ui: &Ui, rect: Rect) {
    outline(ui, rect, ButtonState::Off);
}

/// Width of a button with this text.
pub fn button_width(ui: &Ui, text: &str) -> f32 {
    text_width(ui, text, text_font(13.0)) + PADDING
}

/// Width of a text.
pub fn text_width(ui: &Ui, text: &str, font: FontId) -> f32 {
    let color = palette(ui).foreground;
    ui.painter()
        .layout_no_wrap(text.to_owned(), font, color)
        .size()
        .x
        .ceil()
}
