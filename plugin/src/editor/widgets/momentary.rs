//! A momentary button: on while it is held by the mouse or a key, long enough for the audio to see it.

use super::button::{ButtonState, held_button};
use super::choice::Switch;
use crate::editor::action::Action;
use crate::editor::frame::Knobs;
use egui::{Id, Key, Rect, Response, Ui};

/// Least time that it stays on, seconds: longer than a block of 8192 samples at 44.1 kHz.
const LEAST_S: f64 = 0.2;

/// Since when it has been on, in the toolkit's seconds.
#[derive(Clone, Copy)]
struct Since(f64);

/// Draws it and follows the user.
pub fn momentary(ui: &Ui, rect: Rect, spec: &Switch, knobs: &Knobs, actions: &mut Vec<Action>) {
    let id = ui.scope_id().with(spec.control);
    let state = ButtonState::of(knobs.is_on(spec.control));
    let response = held_button(ui, rect, id, spec.word, state).on_hover_text(spec.tip);
    let held = is_held(ui, &response);
    let now = ui.input(|input| input.time);
    match since(ui, id) {
        None if held || response.clicked() => {
            actions.extend([Action::Begin(spec.control), Action::Set(spec.control, 1.0)]);
            ui.data_mut(|data| data.insert_temp(id, Since(now)));
            ui.ctx().request_repaint();
        }
        Some(Since(at)) if !held && now - at >= LEAST_S => {
            actions.extend([Action::Set(spec.control, 0.0), Action::End(spec.control)]);
            ui.data_mut(|data| data.remove::<Since>(id));
        }
        Some(_) => ui.ctx().request_repaint(),
        None => {}
    }
}

fn is_held(ui: &Ui, response: &Response) -> bool {
    let key = || ui.input(|input| input.key_down(Key::Space) || input.key_down(Key::Enter));
    response.is_pointer_button_down_on() || response.has_focus() && key()
}

fn since(ui: &Ui, id: Id) -> Option<Since> {
    ui.data(|data| data.get_temp(id))
}
