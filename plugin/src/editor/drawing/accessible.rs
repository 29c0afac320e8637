//! The words of a drawing for those who do not see it.

use egui::{Rect, Response, Role, Sense, Ui, WidgetInfo};

/// Names an area for screen readers. `id` is unique on the page.
pub fn describe(ui: &Ui, rect: Rect, id: &str, role: Role, text: &str) -> Response {
    let response = ui.interact(rect, ui.scope_id().with(id), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(role, true, text));
    response
}
