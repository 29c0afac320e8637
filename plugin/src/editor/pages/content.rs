//! The content of a window: the header and the page under it.

use super::align_page::align_page;
use super::header::{header, header_height};
use super::placement_page::placement_page;
use super::sweep_page::sweep_page;
use crate::editor::action::{Action, Figure, Graph, Page};
use crate::editor::drawing::apply_theme;
use crate::editor::frame::{Control, Frame};
use crate::session::Theme;
use egui::Ui;

/// What a window shows; forgotten when it is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct View {
    pub page: Page,
    pub figure: Figure,
    pub graph: Graph,
}

/// Everything that is drawn.
#[derive(Clone, Copy, Debug)]
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
    }
    let rect = ui.ctx().content_rect();
    let palette = content.theme.palette();
    ui.painter().rect_filled(rect, 0.0, palette.background);
    let head = header_height(rect.width());
    let (top, page) = rect.split_top_bottom_at_y(rect.min.y + head);
    let view = content.view;
    header(ui, top, &content.frame, view.page, actions);
    match (is_sweep(&content.frame), view.page) {
        (true, _) => sweep_page(ui, page, &content.frame, view.graph, actions),
        (false, Page::Drawings) => align_page(ui, page, &content.frame, view.figure, actions),
        (false, Page::Placement) => placement_page(ui, page, &content.frame, actions),
    }
}

/// The decks have a page of their own.
pub fn is_sweep(frame: &Frame) -> bool {
    const SWEEP: usize = 1;
    frame.knobs.choice(Control::Mode) == SWEEP
}

/// The toolkit has this theme's colours already.
fn is_applied(ui: &Ui, theme: Theme) -> bool {
    ui.visuals().panel_fill == theme.palette().background
}
