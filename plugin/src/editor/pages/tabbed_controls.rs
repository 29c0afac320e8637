//! The controls under a page: the mode's own or the tape machine's, and the tabs that choose between them.

use super::tape_controls;
use super::version_buttons::{VERSION_ROWS, VERSION_WIDTH, version_buttons};
use crate::editor::action::{Action, ControlTab, Page};
use crate::editor::drawing::palette;
use crate::editor::frame::Frame;
use crate::editor::widgets::{
    ControlItem, HEIGHT, control_rows, control_rows_height, tabs, tabs_width,
};
use egui::{Rect, Stroke, Ui, pos2};

/// Room around the tabs, points.
const MARGIN: f32 = 20.0;
/// Room over the tabs and under the last row of buttons, points.
const TOP: f32 = 10.0;
const BOTTOM: f32 = 12.0;

/// The controls that a page has.
pub struct TabbedControls {
    /// What the mode's own are called.
    word: &'static str,
    tab: ControlTab,
    items: Vec<ControlItem>,
}

impl TabbedControls {
    /// The tape machine's where they are asked for, else `own`.
    pub fn of(frame: &Frame, tab: ControlTab, word: &'static str, own: Vec<ControlItem>) -> Self {
        let items = match tab {
            ControlTab::Mode => own,
            ControlTab::Tape => tape_controls::items(frame),
        };
        Self { word, tab, items }
    }

    fn tabs(&self) -> [(&'static str, ControlTab); 2] {
        [(self.word, ControlTab::Mode), ("Tape", ControlTab::Tape)]
    }

    /// Width that the tabs and the buttons under them take from the rows.
    fn tabs_width(&self, ui: &Ui) -> f32 {
        tabs_width(ui, &self.tabs()).max(VERSION_WIDTH)
    }

    /// The page over the controls, and the controls' room.
    pub fn split(&self, ui: &Ui, rect: Rect) -> (Rect, Rect) {
        let width = rect.width() - self.tabs_width(ui);
        let height = control_rows_height(ui, width, self.items.clone());
        let height = height.max(TOP + HEIGHT + VERSION_ROWS + BOTTOM);
        rect.split_top_bottom_at_y(rect.max.y - height)
    }

    /// Draws them and follows the user.
    pub fn show(
        self,
        ui: &mut Ui,
        rect: Rect,
        frame: &Frame,
        page: Page,
        actions: &mut Vec<Action>,
    ) {
        let outline = Stroke::new(1.0, palette(ui).outline);
        ui.painter()
            .hline(rect.x_range(), rect.min.y + 0.5, outline);
        let width = self.tabs_width(ui);
        let top = rect.min.y + TOP;
        let corner = pos2(rect.max.x - MARGIN, top + HEIGHT);
        let above = Rect::from_min_max(pos2(corner.x - width, top), corner);
        let row = above.with_min_x(corner.x - tabs_width(ui, &self.tabs()));
        tabs(ui, row, &self.tabs(), self.tab, Action::ControlTab, actions);
        version_buttons(ui, above, frame, page, actions);
        let rows = rect.with_max_x(rect.max.x - width);
        control_rows(ui, rows, self.items, frame, actions);
    }
}
