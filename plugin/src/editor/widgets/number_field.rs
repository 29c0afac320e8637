//! A number in a box: dragged, wheeled, stepped, typed with its unit, or put back.

use super::button::focus_outline;
use super::unit::Unit;
use crate::editor::action::{Action, set_at_once};
use crate::editor::drawing::{digit_font, palette, text_font};
use crate::editor::frame::{Air, Control, Frame, Knob};
use egui::{
    Align2, CursorIcon, EventFilter, Id, Key, Rect, Response, Role, Sense, Stroke, StrokeKind,
    TextEdit, Ui, WidgetInfo, vec2,
};

/// Points of drag for one step.
const POINTS_A_STEP: f32 = 6.0;
/// Points of the wheel for one step.
const WHEEL_A_STEP: f32 = 40.0;

/// What a number field shows.
#[derive(Clone, Copy, Debug)]
pub struct NumberField {
    pub control: Control,
    pub title: &'static str,
    pub unit: Unit,
    pub tip: &'static str,
}

/// A number that is being dragged: steps so small that they round away still add up.
#[derive(Clone, Copy)]
struct Held(f32);

/// A number that is being typed.
#[derive(Clone)]
struct Typed {
    text: String,
    /// The box has the keyboard already.
    begun: bool,
}

/// Shows the number and follows the user.
pub fn number_field(
    ui: &mut Ui,
    rect: Rect,
    spec: &NumberField,
    frame: &Frame,
    actions: &mut Vec<Action>,
) {
    let id = ui.scope_id().with(spec.control);
    let air = frame.air();
    let knob = frame.knobs.get(spec.control);
    if let Some(typed) = ui.data(|data| data.get_temp::<Typed>(id)) {
        type_on(ui, rect, id, spec, typed, &knob, &air, actions);
        return;
    }
    let held = ui.data(|data| data.get_temp::<Held>(id));
    let value = held.map_or(knob.value, |held| held.0);
    let response = show(ui, rect, id, spec, value, &air);
    let begun = actions.len();
    drag(ui, &response, spec, &knob, held, &air, actions);
    if actions.len() == begun && held.is_none() {
        wheel(ui, &response, spec, &knob, &air, actions);
        keys(ui, &response, spec, &knob, &air, actions);
    }
    if response.double_clicked() {
        actions.extend(set_at_once(spec.control, knob.default));
    } else if response.clicked() && !ui.input(|input| input.key_pressed(Key::Space)) {
        begin_typing(ui, id, spec.unit.write(knob.value, &air));
    }
}

fn show(ui: &Ui, rect: Rect, id: Id, spec: &NumberField, value: f32, air: &Air) -> Response {
    let palette = palette(ui);
    let text = spec.unit.write(value, air);
    let response = ui
        .interact(rect, id, Sense::click_and_drag())
        .on_hover_and_drag_cursor(CursorIcon::ResizeHorizontal);
    response.widget_info(|| WidgetInfo {
        current_text_value: Some(text.clone()),
        ..WidgetInfo::labeled(Role::SpinButton, true, spec.title)
    });
    let edge = Stroke::new(1.0, palette.edge);
    ui.painter()
        .rect(rect, 2.0, palette.panel, edge, StrokeKind::Inside);
    if response.has_focus() || response.hovered() {
        focus_outline(ui, rect);
    }
    let at = rect.right_center() - vec2(8.0, 0.0);
    ui.painter().text(
        at,
        Align2::RIGHT_CENTER,
        text,
        digit_font(13.0),
        palette.foreground,
    );
    if response.dragged() {
        return response;
    }
    let otherwise = spec.unit.otherwise(value, air);
    response.on_hover_ui(|ui| {
        ui.set_max_width(320.0);
        ui.label(spec.tip);
        if !otherwise.is_empty() {
            ui.label(otherwise);
        }
        ui.label("Drag, wheel or arrow keys; Shift is fine. Click or Enter to type, double-click to reset.");
    })
}

fn drag(
    ui: &Ui,
    response: &Response,
    spec: &NumberField,
    knob: &Knob,
    held: Option<Held>,
    air: &Air,
    actions: &mut Vec<Action>,
) {
    let id = response.id;
    if response.drag_started() {
        actions.push(Action::Begin(spec.control));
        ui.data_mut(|data| data.insert_temp(id, Held(knob.value)));
    }
    if response.dragged() {
        let before = held.map_or(knob.value, |held| held.0);
        let motion = response.drag_delta();
        let steps = (motion.x - motion.y) / POINTS_A_STEP;
        let value = (before + steps * step(ui, spec.unit, air)).clamp(knob.min, knob.max);
        if value != before {
            ui.data_mut(|data| data.insert_temp(id, Held(value)));
            actions.push(Action::Set(spec.control, value));
        }
    }
    if response.drag_stopped() {
        ui.data_mut(|data| data.remove::<Held>(id));
        actions.push(Action::End(spec.control));
    }
}

/// One step as the keys beside it say.
fn step(ui: &Ui, unit: Unit, air: &Air) -> f32 {
    let steps = unit.steps(air);
    let modifiers = ui.input(|input| input.modifiers);
    match (modifiers.shift, modifiers.alt) {
        (true, _) => steps.fine,
        (_, true) => steps.other,
        _ => steps.plain,
    }
}

fn wheel(
    ui: &Ui,
    response: &Response,
    spec: &NumberField,
    knob: &Knob,
    air: &Air,
    actions: &mut Vec<Action>,
) {
    if !response.hovered() {
        return;
    }
    // With Shift some systems turn the wheel sideways.
    let turned = ui.input(|input| input.smooth_scroll_delta);
    let id = response.id.with("wheel");
    let whole = ui.data(|data| data.get_temp::<f32>(id)).unwrap_or(0.0) + turned.x + turned.y;
    let steps = (whole / WHEEL_A_STEP).trunc();
    ui.data_mut(|data| data.insert_temp(id, whole - steps * WHEEL_A_STEP));
    if steps != 0.0 {
        move_by(spec, knob, steps * step(ui, spec.unit, air), actions);
    }
}

fn keys(
    ui: &Ui,
    response: &Response,
    spec: &NumberField,
    knob: &Knob,
    air: &Air,
    actions: &mut Vec<Action>,
) {
    if !response.has_focus() {
        return;
    }
    let arrows = EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        ..EventFilter::default()
    };
    ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, arrows));
    let pressed = |key| ui.input(|input| input.key_pressed(key));
    let up = pressed(Key::ArrowUp) || pressed(Key::ArrowRight);
    let down = pressed(Key::ArrowDown) || pressed(Key::ArrowLeft);
    let steps = f32::from(u8::from(up)) - f32::from(u8::from(down));
    if steps != 0.0 {
        move_by(spec, knob, steps * step(ui, spec.unit, air), actions);
    }
    if pressed(Key::Delete) || pressed(Key::Backspace) {
        actions.extend(set_at_once(spec.control, knob.default));
    }
}

fn move_by(spec: &NumberField, knob: &Knob, by: f32, actions: &mut Vec<Action>) {
    let value = (knob.value + by).clamp(knob.min, knob.max);
    if value != knob.value {
        actions.extend(set_at_once(spec.control, value));
    }
}

fn begin_typing(ui: &Ui, id: Id, text: String) {
    ui.data_mut(|data| data.insert_temp(id, Typed { text, begun: false }));
}

#[allow(clippy::too_many_arguments)]
fn type_on(
    ui: &mut Ui,
    rect: Rect,
    id: Id,
    spec: &NumberField,
    mut typed: Typed,
    knob: &Knob,
    air: &Air,
    actions: &mut Vec<Action>,
) {
    let edit = TextEdit::singleline(&mut typed.text)
        .id(id.with("text"))
        .font(digit_font(13.0))
        .align(Align2::RIGHT_CENTER)
        .margin(vec2(6.0, 4.0))
        .min_size(rect.size())
        .desired_width(rect.width() - 12.0);
    let response = ui.put(rect, edit).accessible_name(spec.title);
    if !typed.begun {
        response.request_focus();
        select_all(ui, response.id, &typed.text);
        typed.begun = true;
    }
    let read = spec.unit.read(&typed.text, air);
    if let Err(hint) = read {
        show_hint(ui, rect, hint);
    }
    let [enter, escape] =
        [Key::Enter, Key::Escape].map(|key| ui.input(|input| input.key_pressed(key)));
    let left = response.lost_focus() && !enter;
    match read {
        Ok(value) if enter || (left && !escape) => {
            let value = value.clamp(knob.min, knob.max);
            actions.extend(set_at_once(spec.control, value));
        }
        Err(_) if enter => {
            response.request_focus();
            ui.data_mut(|data| data.insert_temp(id, typed));
            return;
        }
        _ if left => {}
        _ => {
            ui.data_mut(|data| data.insert_temp(id, typed));
            return;
        }
    }
    ui.data_mut(|data| data.remove::<Typed>(id));
}

fn select_all(ui: &Ui, id: Id, text: &str) {
    let mut state = egui::text_edit::TextEditState::default();
    let all = egui::text::CCursorRange::two(
        egui::text::CCursor::new(0),
        egui::text::CCursor::new(text.chars().count()),
    );
    state.cursor.set_char_range(Some(all));
    state.store(ui.ctx(), id);
}

/// Shows above a box what could be typed in it.
fn show_hint(ui: &Ui, rect: Rect, hint: &str) {
    let palette = palette(ui);
    let painter = ui.ctx().layer_painter(egui::LayerId::new(
        egui::Order::Tooltip,
        ui.scope_id().with("hint"),
    ));
    let galley = painter.layout(hint.to_owned(), text_font(12.5), palette.foreground, 260.0);
    let room = ui.ctx().content_rect().shrink(8.0);
    let size = galley.size() + vec2(16.0, 10.0);
    let left = rect.min.x.min(room.max.x - size.x).max(room.min.x);
    let box_rect = Rect::from_min_size(egui::pos2(left, rect.min.y - size.y - 4.0), size);
    let edge = Stroke::new(1.2, palette.second);
    painter.rect(box_rect, 2.0, palette.panel, edge, StrokeKind::Inside);
    painter.galley(box_rect.min + vec2(8.0, 5.0), galley, palette.foreground);
}
