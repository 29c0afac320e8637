//! What the user asks the window for: gestures that the host must see, and changes of the view.

use super::frame::{Control, Side};
use crate::session::{Handed, Lengths, Line, Overhead, Seat, Theme};

/// What is shown under the header.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Page {
    /// The drawings and the controls.
    #[default]
    Drawings,
    /// Large digits for the one who moves the stands.
    Placement,
    /// Names, units, target and free lines: what the recall sheet says beside the figures.
    Recall,
    /// The starting points and the user's own presets, over the mode's own controls.
    Presets,
}

/// The drawing that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Figure {
    #[default]
    Plan,
    Lag,
    Kit,
    MonoSum,
}

/// The drawing of the decks that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Graph {
    #[default]
    Offset,
    Comb,
}

/// What the user notes of the take.
#[derive(Clone, Debug, PartialEq)]
pub enum Note {
    /// The drum of this number is called so; empty: as it is measured.
    NameDrum(u8, String),
    /// An overhead is called so; empty: first or second.
    NameOverhead(Overhead, String),
    Write(Line, String),
    /// The gaps of today are the ones to come back to.
    KeepTarget,
    /// Zero is the target again.
    DropTarget,
}

/// Whose controls lie under the drawings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum ControlTab {
    /// The mode's own.
    #[default]
    Mode,
    /// The tape machine's; its drawings are up with them.
    Tape,
}

/// What the user asks for.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// The control is taken hold of.
    Begin(Control),
    /// It is moved to a value in the parameter's own unit.
    Set(Control, f32),
    /// It is let go.
    End(Control),
    /// The drum of this number is the one that is aligned from now on.
    PickDrum(u8),
    /// The next four strokes are all of the drum that is aligned.
    FourHits,
    Note(Note),
    Lengths(Lengths),
    Seat(Seat),
    Handed(Handed),
    /// The starting point at this place of the list is called up.
    CallUp(usize),
    /// What a preset holds goes to a file of the user's choice, or comes from one.
    SavePreset,
    OpenPreset,
    Undo,
    Redo,
    /// The other settings are heard.
    Side(Side),
    /// The other settings become those that are heard.
    CopySide,
    /// The recall sheet goes to a file of the user's choice.
    SaveSheet,
    Theme(Theme),
    Zoom(f32),
    Page(Page),
    Figure(Figure),
    Graph(Graph),
    ControlTab(ControlTab),
}

/// A control that is moved at a stroke.
pub fn set_at_once(control: Control, value: f32) -> [Action; 3] {
    [
        Action::Begin(control),
        Action::Set(control, value),
        Action::End(control),
    ]
}
