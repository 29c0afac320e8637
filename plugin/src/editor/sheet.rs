//! One window's content: the header and the page under it.

use super::align_page::align_page;
use super::control::{Action, Control, Figure, Graph, Page};
use super::frame::Frame;
use super::header::{self, header};
use super::ink::dress;
use super::placement::placement;
use super::sweep_page::sweep_page;
use crate::desk::Paper;
use egui::Ui;

/// What a window has up; forgotten when it is closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct View {
    pub page: Page,
    pub figure: Figure,
    pub graph: Graph,
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
    let view = sheet.view;
    header(ui, top, &sheet.frame, view.page, actions);
    match (is_sweep(&sheet.frame), view.page) {
        (true, _) => sweep_page(ui, page, &sheet.frame, view.graph, actions),
        (false, Page::Sheet) => align_page(ui, page, &sheet.frame, view.figure, actions),
        (false, Page::Placement) => placement(ui, page, &sheet.frame, actions),
    }
}

/// The decks are up: they have a sheet of their own.
pub fn is_sweep(frame: &Frame) -> bool {
    const SWEEP: usize = 1;
    frame.knobs.choice(Control::Mode) == SWEEP
}

/// The toolkit wears this paper's inks already.
fn is_dressed(ui: &Ui, paper: Paper) -> bool {
    ui.visuals().panel_fill == paper.inks().desk
}
