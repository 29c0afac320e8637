//! One window's content: the header and the page under it.

use super::align_page::align_page;
use super::control::{Action, Figure, Page};
use super::frame::Frame;
use super::header::{self, header};
use super::ink::dress;
use super::placement::placement;
use crate::desk::Paper;
use egui::Ui;

/// What a window has up; forgotten when it is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct View {
    pub page: Page,
    pub figure: Figure,
}

/// Everything that is drawn.
#[derive(Clone, Copy, Debug)]
pub struct Sheet {
    pub frame: Frame,
    pub paper: Paper,
    pub view: View,
}

/// Draws it and follows the hand.
pub fn sheet(ui: &mut Ui, sheet: &Sheet, actions: &mut Vec<Action>) {
    if !is_dressed(ui, sheet.paper) {
        dress(ui.ctx(), sheet.paper);
        let style = ui.ctx().global_style();
        ui.set_style(style);
    }
    let rect = ui.ctx().content_rect();
    let inks = sheet.paper.inks();
    ui.painter().rect_filled(rect, 0.0, inks.desk);
    let head = header::height(rect.width());
    let (top, page) = rect.split_top_bottom_at_y(rect.min.y + head);
    let View {
        page: shown,
        figure,
    } = sheet.view;
    header(ui, top, &sheet.frame, shown, actions);
    match shown {
        Page::Sheet => align_page(ui, page, &sheet.frame, figure, actions),
        Page::Placement => placement(ui, page, &sheet.frame, actions),
    }
}

/// The toolkit wears this paper's inks already.
fn is_dressed(ui: &Ui, paper: Paper) -> bool {
    ui.visuals().panel_fill == paper.inks().desk
}
