//! The content of a window: the header and the page under it.

use super::header::{header, header_height};
use super::modes::mode_page;
use super::view::View;
use crate::editor::action::Action;
use crate::editor::drawing::apply_theme;
use crate::editor::frame::Frame;
use crate::session::Theme;
use egui::Ui;

/// Everything that is drawn.
#[derive(Clone, Debug)]
pub struct Content {
    pub frame: Frame,
    pub theme: Theme,
    pub view: View,
}

/// Draws it and follows the user.
pub fn show(ui: &mut Ui, content: &Content, actions: &mut Vec<Action>) {
    if !is_applied(ui, content.theme) {
        apply_theme(ui.ctx(), content.theme);
        let style = ui.ctx().global_style();
        ui.set_style(style);
        // This picture's letters are still drawn for the former theme.
        ui.ctx().request_repaint();
    }
    let rect = ui.ctx().content_rect();
    let palette = content.theme.palette();
    ui.painter().rect_filled(rect, 0.0, palette.background);
    let head = header_height(rect.width());
    let (top, page) = rect.split_top_bottom_at_y(rect.min.y + head);
    let view = content.view;
    header(ui, top, &content.frame, view.page, actions);
    (mode_page(&content.frame).draw)(ui, page, &content.frame, &view, actions);
}

/// The toolkit has this theme's colours already.
fn is_applied(ui: &Ui, theme: Theme) -> bool {
    ui.visuals().panel_fill == theme.palette().background
}
