//! The page of each mode: its name in the header, what it offers, and what draws it.

use super::align_page::align_page;
use super::placement_page::placement_page;
use super::recall_page::recall_page;
use super::sweep_page::sweep_page;
use super::view::View;
use crate::editor::action::{Action, Page};
use crate::editor::frame::{Control, Frame};
use crate::editor::widgets::{Choice, ChoiceOption};
use egui::{Rect, Ui};

/// One mode's part of the window.
pub struct ModePage {
    option: ChoiceOption,
    /// What can be shown under the header.
    pub pages: &'static [Page],
    /// Draws it and follows the user.
    pub draw: fn(&mut Ui, Rect, &Frame, &View, &mut Vec<Action>),
}

const ALIGN: ModePage = ModePage {
    option: ChoiceOption {
        word: "Align",
        tip: "Measures the pair and sets it right.",
    },
    pages: &[Page::Drawings, Page::Placement, Page::Recall],
    draw: |ui, rect, frame, view, actions| match view.page {
        Page::Drawings | Page::Presets => align_page(ui, rect, frame, view, actions),
        Page::Placement => placement_page(ui, rect, frame, actions),
        Page::Recall => recall_page(ui, rect, frame, actions),
    },
};

const SWEEP: ModePage = ModePage {
    option: ChoiceOption {
        word: "Sweep",
        tip: "Adds two decks after the alignment, and 12 ms of latency for them.",
    },
    pages: &[Page::Drawings],
    draw: sweep_page,
};

/// All modes, in the order of the parameter.
static MODES: [ModePage; 2] = [ALIGN, SWEEP];

/// The choice in the header.
pub const MODE: Choice = Choice {
    control: Control::Mode,
    title: "Mode",
    options: &[ALIGN.option, SWEEP.option],
};

/// Of the current mode.
pub fn mode_page(frame: &Frame) -> &'static ModePage {
    let index = frame.knobs.choice(Control::Mode);
    MODES.get(index).unwrap_or(&MODES[0])
}
