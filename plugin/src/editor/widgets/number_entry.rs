//! Typing a number with its unit; what cannot be read stays open with a hint.

use super::double_click::may_be_doubled;
use super::number::Number;
use crate::editor::action::Action;
use crate::editor::drawing::{digit_font, palette, text_font};
use egui::{Align2, Id, Key, Rect, Response, Stroke, StrokeKind, TextEdit, Ui, vec2};

/// A number that is being typed.
#[derive(Clone)]
pub struct NumberEntry {
    text: String,
    /// Set once the box has been given the keyboard.
    focused: bool,
    /// When it was opened, seconds.
    opened_s: f64,
}

/// What has become of the typing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Typing {
    GoesOn,
    /// Enter.
    Entered,
    /// The keyboard went elsewhere.
    Left,
    /// Escape.
    Dropped,
}

impl Typing {
    fn of(ui: &Ui, response: &Response) -> Self {
        let pressed = |key| ui.input(|input| input.key_pressed(key));
        match response.lost_focus() {
            _ if pressed(Key::Enter) => Self::Entered,
            true if pressed(Key::Escape) => Self::Dropped,
            true => Self::Left,
            false => Self::GoesOn,
        }
    }
}

impl NumberEntry {
    /// Begins with a text, all of it selected.
    pub fn open(ui: &Ui, id: Id, text: String) {
        let entry = Self {
            text,
            focused: false,
            opened_s: ui.input(|input| input.time),
        };
        ui.data_mut(|data| data.insert_temp(id, entry));
    }

    /// The entry that is open for a number.
    pub fn get(ui: &Ui, id: Id) -> Option<Self> {
        ui.data(|data| data.get_temp(id))
    }

    /// Shows the box and follows the keyboard.
    pub fn show(
        mut self,
        ui: &mut Ui,
        rect: Rect,
        id: Id,
        number: &Number<'_>,
        actions: &mut Vec<Action>,
    ) {
        let response = self.edit(ui, rect, id, number.spec.title);
        // The first click has opened the box: the second one is for the number and not for its text.
        if response.double_clicked() && may_be_doubled(ui, self.opened_s) {
            actions.extend(number.set(number.knob.default));
            return close(ui, id);
        }
        let read = number.spec.unit.read(&self.text, &number.air);
        if let Err(hint) = read {
            show_hint(ui, rect, hint);
        }
        match (read, Typing::of(ui, &response)) {
            (_, Typing::GoesOn) => self.keep(ui, id),
            (Err(_), Typing::Entered) => {
                response.request_focus();
                self.keep(ui, id);
            }
            (Ok(value), Typing::Entered | Typing::Left) => {
                actions.extend(number.set(number.within(value)));
                close(ui, id);
            }
            (_, Typing::Left | Typing::Dropped) => close(ui, id),
        }
    }

    fn edit(&mut self, ui: &mut Ui, rect: Rect, id: Id, title: &str) -> Response {
        let edit = TextEdit::singleline(&mut self.text)
            .id(id.with("text"))
            .font(digit_font(13.0))
            .align(Align2::RIGHT_CENTER)
            .margin(vec2(6.0, 4.0))
            .min_size(rect.size())
            .desired_width(rect.width() - 12.0);
        let response = ui.put(rect, edit).accessible_name(title);
        if !self.focused {
            response.request_focus();
            select_all(ui, response.id, &self.text);
            self.focused = true;
        }
        response
    }

    fn keep(self, ui: &Ui, id: Id) {
        ui.data_mut(|data| data.insert_temp(id, self));
    }
}

fn close(ui: &Ui, id: Id) {
    ui.data_mut(|data| data.remove::<NumberEntry>(id));
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
