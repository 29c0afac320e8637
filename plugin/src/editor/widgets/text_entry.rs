//! A line of text in a box: what is typed counts when the keyboard leaves it.

use crate::editor::drawing::text_font;
use egui::{Id, Key, Rect, TextEdit, Ui, vec2};

/// Shows the box; the new text once it has been typed. Escape drops it.
pub fn text_entry(ui: &mut Ui, rect: Rect, id: Id, title: &str, text: &str) -> Option<String> {
    let typed: Option<String> = ui.data(|data| data.get_temp(id));
    let mut shown = typed.clone().unwrap_or_else(|| text.to_owned());
    let edit = TextEdit::singleline(&mut shown)
        .id(id.with("text"))
        .font(text_font(13.0))
        .margin(vec2(6.0, 4.0))
        .min_size(rect.size())
        .desired_width(rect.width() - 12.0);
    let response = ui.put(rect, edit).accessible_name(title);
    if response.lost_focus() {
        ui.data_mut(|data| data.remove::<String>(id));
        let dropped = ui.input(|input| input.key_pressed(Key::Escape));
        return (!dropped && shown != text).then_some(shown);
    }
    if response.has_focus() {
        ui.data_mut(|data| data.insert_temp(id, shown));
    }
    None
}
