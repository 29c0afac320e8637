//! Gestures on the hand strip: braking until it is let go, and moving the offset.

use crate::editor::action::{Action, set_at_once};
use crate::editor::frame::{Control, Frame};
use egui::{EventFilter, Key, Rangef, Response, Ui, lerp, remap_clamp};

/// A press of an arrow key, parts of the greatest offset.
const KEY_STEP: f32 = 0.05;
/// With Shift a movement is this part of itself.
const FINE: f32 = 0.1;
/// How far an arrow key pulls while it is held, parts of the strip; with Shift.
const KEY_PULL: f32 = 0.25;
const KEY_PULL_FINE: f32 = 0.1;

/// The braking force: begins with the press, ends with zero when the strip is let go.
pub fn brake(
    ui: &Ui,
    response: &Response,
    path: Rangef,
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

/// Where the pointer or an arrow key pulls, as a part of the strip; `None` when nothing does.
fn pull(ui: &Ui, response: &Response, path: Rangef) -> Option<f32> {
    if response.is_pointer_button_down_on() {
        let at = response.interact_pointer_pos()?;
        return Some(remap_clamp(at.x, path, 0.0..=1.0));
    }
    if !response.has_focus() {
        return None;
    }
    keep_arrows(ui, response);
    let down = |key| ui.input(|input| input.key_down(key));
    let pull = match ui.input(|input| input.modifiers.shift) {
        true => KEY_PULL_FINE,
        false => KEY_PULL,
    };
    match (down(Key::ArrowLeft), down(Key::ArrowRight)) {
        (true, false) => Some(0.5 - pull),
        (false, true) => Some(0.5 + pull),
        _ => None,
    }
}

/// The offset that the pointer or an arrow key sets. It stays.
pub fn move_offset(
    ui: &Ui,
    response: &Response,
    path: Rangef,
    frame: &Frame,
    actions: &mut Vec<Action>,
) -> f32 {
    let knob = frame.knobs.get(Control::Offset);
    let id = response.id.with("offset");
    let held: Option<f32> = ui.data(|data| data.get_temp(id));
    let fine = match ui.input(|input| input.modifiers.shift) {
        true => FINE,
        false => 1.0,
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
