//! A number in a box: dragged, wheeled, stepped, typed with its unit, or put back.

use super::button::focus_outline;
use super::number::{Number, NumberField};
use super::number_entry::NumberEntry;
use crate::editor::action::Action;
use crate::editor::drawing::{control_box, digit_font, palette};
use crate::editor::frame::Frame;
use egui::{
    Align2, CursorIcon, EventFilter, Id, Key, Rect, Response, Role, Sense, Ui, WidgetInfo, vec2,
};

/// Points of drag for one step.
const POINTS_A_STEP: f32 = 6.0;
/// Points of the wheel for one step.
const WHEEL_A_STEP: f32 = 40.0;

/// A number that is being dragged: steps so small that they round away still add up.
#[derive(Clone, Copy)]
struct Held(f32);

/// Shows the number and follows the user.
pub fn number_field(
    ui: &mut Ui,
    rect: Rect,
    spec: &NumberField,
    frame: &Frame,
    actions: &mut Vec<Action>,
) {
    let id = ui.scope_id().with(spec.control);
    let number = Number::new(spec, frame);
    if let Some(entry) = NumberEntry::get(ui, id) {
        entry.show(ui, rect, id, &number, actions);
        return;
    }
    let held = ui.data(|data| data.get_temp::<Held>(id));
    let value = held.map_or(number.knob.value, |held| held.0);
    let response = draw(ui, rect, id, &number, value);
    let begun = actions.len();
    drag(ui, &response, &number, held, actions);
    if actions.len() == begun && held.is_none() {
        wheel(ui, &response, &number, actions);
        keys(ui, &response, &number, actions);
    }
    if response.double_clicked() {
        actions.extend(number.set(number.knob.default));
    } else if response.clicked() && !ui.input(|input| input.key_pressed(Key::Space)) {
        NumberEntry::open(ui, id, number.write(number.knob.value));
    }
    if !response.dragged() {
        tip(response, &number, value);
    }
}

fn draw(ui: &Ui, rect: Rect, id: Id, number: &Number<'_>, value: f32) -> Response {
    let text = number.write(value);
    let response = ui
        .interact(rect, id, Sense::click_and_drag())
        .on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(text.clone()),
        ..WidgetInfo::labeled(Role::SpinButton, true, number.spec.title)
    });
    let palette = palette(ui);
    control_box(ui, rect, palette.panel);
    if response.has_focus() || response.hovered() {
        focus_outline(ui, rect);
    }
    let at = rect.right_center() - vec2(8.0, 0.0);
    let (font, color) = (digit_font(13.0), palette.foreground);
    ui.painter()
        .text(at, Align2::RIGHT_CENTER, text, font, color);
    response
}

fn tip(response: Response, number: &Number<'_>, value: f32) {
    let otherwise = number.spec.unit.otherwise(value, &number.air);
    response.on_hover_ui(|ui| {
        ui.set_max_width(320.0);
        ui.label(number.spec.tip);
        if !otherwise.is_empty() {
            ui.label(otherwise);
        }
        ui.label("Drag, wheel or arrow keys; Shift is fine. Click or Enter to type, double-click to reset.");
    });
}

fn drag(
    ui: &Ui,
    response: &Response,
    number: &Number<'_>,
    held: Option<Held>,
    actions: &mut Vec<Action>,
) {
    let id = response.id;
    let control = number.spec.control;
    if response.drag_started() {
        actions.push(Action::Begin(control));
        ui.data_mut(|data| data.insert_temp(id, Held(number.knob.value)));
    }
    if response.dragged() {
        let before = held.map_or(number.knob.value, |held| held.0);
        let motion = response.drag_delta();
        let steps = (motion.x - motion.y) / POINTS_A_STEP;
        let value = number.within(before + steps * number.step(ui));
        if value != before {
            ui.data_mut(|data| data.insert_temp(id, Held(value)));
            actions.push(Action::Set(control, value));
        }
    }
    if response.drag_stopped() {
        ui.data_mut(|data| data.remove::<Held>(id));
        actions.push(Action::End(control));
    }
}

fn wheel(ui: &Ui, response: &Response, number: &Number<'_>, actions: &mut Vec<Action>) {
    if !response.hovered() {
        return;
    }
    // With Shift some systems turn the wheel sideways.
    let turned = ui.input(|input| input.smooth_scroll_delta);
    let id = response.id.with("wheel");
    let whole = ui.data(|data| data.get_temp::<f32>(id)).unwrap_or(0.0) + turned.x + turned.y;
    let steps = (whole / WHEEL_A_STEP).trunc();
    ui.data_mut(|data| data.insert_temp(id, whole - steps * WHEEL_A_STEP));
    step_by(ui, number, steps, actions);
}

fn keys(ui: &Ui, response: &Response, number: &Number<'_>, actions: &mut Vec<Action>) {
    if !response.has_focus() {
        return;
    }
    let arrows = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
    let any = |keys: [Key; 2]| ui.input(|input| keys.iter().any(|key| input.key_pressed(*key)));
    let up = f32::from(u8::from(any([Key::ArrowUp, Key::ArrowRight])));
    let down = f32::from(u8::from(any([Key::ArrowDown, Key::ArrowLeft])));
    step_by(ui, number, up - down, actions);
    if any([Key::Delete, Key::Backspace]) {
        actions.extend(number.set(number.knob.default));
    }
}

fn step_by(ui: &Ui, number: &Number<'_>, steps: f32, actions: &mut Vec<Action>) {
    if steps == 0.0 {
        return;
    }
    let value = number.within(number.knob.value + steps * number.step(ui));
    if value != number.knob.value {
        actions.extend(number.set(value));
    }
}
