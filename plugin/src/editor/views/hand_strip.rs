//! The hand strip: brakes a deck until it is let go, or puts the moving deck where it is wanted.

use crate::editor::action::{Action, set_at_once};
use crate::editor::drawing::{Canvas, digit_font, panel, signed, text_font};
use crate::editor::frame::{Control, Frame};
use crate::editor::widgets::focus_outline;
use egui::{
    Align2, CursorIcon, EventFilter, Key, Rect, Response, Role, Sense, Ui, WidgetInfo, lerp, pos2,
    remap_clamp, vec2,
};
use plumbline_dsp::decks::motion::Motion;

/// Height of the strip, points.
const HEIGHT: f32 = 56.0;
/// Width of what the hand holds, points.
const HANDLE: f32 = 24.0;
/// A press of an arrow key, parts of the whole strip.
const KEY_STEP: f32 = 0.05;

/// What the strip moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Work {
    /// A force as long as it is held.
    Brake,
    /// A place that stays.
    Place,
}

impl Work {
    fn of(frame: &Frame) -> Self {
        match frame.decks.course.motion {
            Motion::Drag => Self::Brake,
            _ => Self::Place,
        }
    }

    fn control(self) -> Control {
        match self {
            Self::Brake => Control::Drag,
            Self::Place => Control::Offset,
        }
    }

    fn caption(self, motion: Motion) -> &'static str {
        match (self, motion) {
            (Self::Brake, _) => "Drag: brake a deck by hand",
            (_, Motion::Hand) => "Hand: put the moving deck",
            _ => "Centre of the travel",
        }
    }

    /// At the left end, in the middle, at the right end.
    fn ends(self) -> [&'static str; 3] {
        match self {
            Self::Brake => ["fixed deck", "let go: runs free", "moving deck"],
            Self::Place => ["early", "null point", "late"],
        }
    }

    fn tip(self) -> &'static str {
        match self {
            Self::Brake => {
                "Hold and pull: to the right brakes the moving deck, to the left the fixed one. Let go and both run \
                 free. Arrow keys brake while they are held."
            }
            Self::Place => {
                "Pull the moving deck early or late; Shift is fine. Arrow keys step, double-click or Delete is back \
                 at zero."
            }
        }
    }
}

/// Draws the panel and follows the hand.
pub fn hand_strip(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let work = Work::of(frame);
    let motion = frame.decks.course.motion;
    let inner = panel(ui, rect, work.caption(motion));
    let middle = inner.center().y - 12.0;
    let height = HEIGHT.min(inner.height() - 60.0).max(28.0);
    let bar = Rect::from_center_size(
        pos2(inner.center().x, middle),
        vec2(inner.width() - 16.0, height),
    );
    let knob = frame.knobs.get(work.control());
    let id = ui.scope_id().with("strip");
    let response = ui
        .interact(bar, id, Sense::click_and_drag())
        .on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    let name = match work {
        Work::Brake => "Brake by hand",
        Work::Place => "Offset by hand",
    };
    response.widget_info(|| WidgetInfo::slider(true, f64::from(knob.value), name));
    let path = bar.x_range().shrink(HANDLE / 2.0 + 4.0);
    let value = match work {
        Work::Brake => brake(ui, &response, path, frame, actions),
        Work::Place => place(ui, &response, path, frame, actions),
    };
    draw(ui, rect, bar, remap_clamp(value, knob.min..=knob.max, path));
    if response.has_focus() || response.hovered() {
        focus_outline(ui, bar);
    }
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    ends(&canvas, bar, work, value);
    state(ui, &canvas, inner, frame);
    if !response.dragged() {
        response.on_hover_text(work.tip());
    }
}

/// Where the hand has it. Begins with the touch, ends with zero when it is let go.
fn brake(
    ui: &Ui,
    response: &Response,
    path: egui::Rangef,
    frame: &Frame,
    actions: &mut Vec<Action>,
) -> f32 {
    let knob = frame.knobs.get(Control::Drag);
    let id = response.id.with("brake");
    let held: Option<f32> = ui.data(|data| data.get_temp(id));
    let pull = pull(ui, response, path).map(|part| lerp(knob.min..=knob.max, part));
    match (held, pull) {
        (None, Some(force)) => {
            actions.extend([
                Action::Begin(Control::Drag),
                Action::Set(Control::Drag, force),
            ]);
            ui.data_mut(|data| data.insert_temp(id, force));
            force
        }
        (Some(before), Some(force)) => {
            if force != before {
                actions.push(Action::Set(Control::Drag, force));
                ui.data_mut(|data| data.insert_temp(id, force));
            }
            force
        }
        (Some(_), None) => {
            actions.extend([Action::Set(Control::Drag, 0.0), Action::End(Control::Drag)]);
            ui.data_mut(|data| data.remove::<f32>(id));
            0.0
        }
        (None, None) => knob.value,
    }
}

/// Where the hand or an arrow key pulls, as a part of the strip; `None` when nobody does.
fn pull(ui: &Ui, response: &Response, path: egui::Rangef) -> Option<f32> {
    if response.is_pointer_button_down_on() {
        let at = response.interact_pointer_pos()?;
        return Some(remap_clamp(at.x, path, 0.0..=1.0));
    }
    if !response.has_focus() {
        return None;
    }
    keep_arrows(ui, response);
    let down = |key| ui.input(|input| input.key_down(key));
    let fine = if ui.input(|input| input.modifiers.shift) {
        0.1
    } else {
        0.25
    };
    match (down(Key::ArrowLeft), down(Key::ArrowRight)) {
        (true, false) => Some(0.5 - fine),
        (false, true) => Some(0.5 + fine),
        _ => None,
    }
}

/// Where the hand puts it. It stays there.
fn place(
    ui: &Ui,
    response: &Response,
    path: egui::Rangef,
    frame: &Frame,
    actions: &mut Vec<Action>,
) -> f32 {
    let knob = frame.knobs.get(Control::Offset);
    let id = response.id.with("place");
    let held: Option<f32> = ui.data(|data| data.get_temp(id));
    let fine = if ui.input(|input| input.modifiers.shift) {
        0.1
    } else {
        1.0
    };
    let mut value = held.unwrap_or(knob.value);
    if response.drag_started() {
        actions.push(Action::Begin(Control::Offset));
        ui.data_mut(|data| data.insert_temp(id, value));
    }
    if response.dragged() {
        let way = response.drag_delta().x / path.span() * (knob.max - knob.min) * fine;
        let moved = (value + way).clamp(knob.min, knob.max);
        if moved != value {
            value = moved;
            ui.data_mut(|data| data.insert_temp(id, value));
            actions.push(Action::Set(Control::Offset, value));
        }
    }
    if response.drag_stopped() {
        ui.data_mut(|data| data.remove::<f32>(id));
        actions.push(Action::End(Control::Offset));
    } else if held.is_none() {
        keys(ui, response, frame, fine, actions);
    }
    value
}

fn keys(ui: &Ui, response: &Response, frame: &Frame, fine: f32, actions: &mut Vec<Action>) {
    let knob = frame.knobs.get(Control::Offset);
    let pressed = |key| ui.input(|input| input.key_pressed(key));
    let focused = response.has_focus();
    if response.double_clicked() || (focused && (pressed(Key::Delete) || pressed(Key::Backspace))) {
        actions.extend(set_at_once(Control::Offset, knob.default));
        return;
    }
    if !focused {
        return;
    }
    keep_arrows(ui, response);
    let right = f32::from(u8::from(pressed(Key::ArrowRight)));
    let steps = right - f32::from(u8::from(pressed(Key::ArrowLeft)));
    let by = steps * KEY_STEP * fine * knob.max;
    let value = (knob.value + by).clamp(knob.min, knob.max);
    if value != knob.value {
        actions.extend(set_at_once(Control::Offset, value));
    }
}

fn keep_arrows(ui: &Ui, response: &Response) {
    let arrows = EventFilter {
        horizontal_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
}

fn draw(ui: &Ui, rect: Rect, bar: Rect, x: f32) {
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    canvas.fill(bar, canvas.palette.grid);
    canvas.frame(bar, 1.0, canvas.palette.edge);
    let path = bar.x_range().shrink(HANDLE / 2.0 + 4.0);
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

fn ends(canvas: &Canvas, bar: Rect, work: Work, value: f32) {
    let y = bar.max.y + 16.0;
    let [left, middle, right] = work.ends();
    let middle = match work {
        Work::Brake if value != 0.0 => format!("{} %", signed(f64::from(value), 0)),
        Work::Place => format!("{} ms", signed(f64::from(value), 2)),
        Work::Brake => middle.to_owned(),
    };
    let muted = canvas.palette.muted;
    let font = text_font(12.0);
    canvas.text(
        pos2(bar.min.x, y),
        Align2::LEFT_CENTER,
        left,
        font.clone(),
        muted,
    );
    canvas.text(
        pos2(bar.max.x, y),
        Align2::RIGHT_CENTER,
        right,
        font.clone(),
        muted,
    );
    let at = pos2(bar.center().x, y);
    canvas.text(
        at,
        Align2::CENTER_CENTER,
        middle,
        font,
        canvas.palette.foreground,
    );
}

/// What the decks' speeds differ.
fn state(ui: &Ui, canvas: &Canvas, inner: Rect, frame: &Frame) {
    let percent = 100.0 * frame.decks.speed_difference();
    let text = format!("speed difference {} %", signed(percent, 2));
    let at = pos2(inner.max.x - 8.0, inner.max.y - 8.0);
    let place = canvas.text(
        at,
        Align2::RIGHT_CENTER,
        &text,
        digit_font(12.0),
        canvas.palette.muted,
    );
    let response = ui.interact(place, ui.scope_id().with("speed"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
    response.on_hover_text("Moving deck's speed against the fixed deck's. A slow deck gets late.");
}
