//! What the user asks the window for: gestures that the host must see, and changes of the view.

use super::frame::Control;
use crate::session::Theme;

/// What is shown under the header.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Page {
    /// The drawings and the controls.
    #[default]
    Drawings,
    /// Large digits for the one who moves the stands.
    Placement,
}

/// The drawing that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Figure {
    #[default]
    Plan,
    Lag,
    MonoSum,
}

/// The drawing of the decks that a small window has room for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Graph {
    #[default]
    Offset,
    Comb,
}

/// Whose controls lie under the drawings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Desk {
    /// The mode's own.
    #[default]
    Mode,
    /// The tape machine's; its drawings are up with them.
    Tape,
}

/// What the user asks for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// The control is taken hold of.
    Begin(Control),
    /// It is moved to a value in the parameter's own unit.
    Set(Control, f32),
    /// It is let go.
    End(Control),
    /// The drum of this number is the one that is aligned from now on.
    #[expect(dead_code, reason = "no view has a row to click yet")]
    PickDrum(u8),
    Theme(Theme),
    Zoom(f32),
    Page(Page),
    Figure(Figure),
    Graph(Graph),
    Desk(Desk),
}

/// A control that is moved at a stroke.
pub fn set_at_once(control: Control, value: f32) -> [Action; 3] {
    [
        Action::Begin(control),
        Action::Set(control, value),
        Action::End(control),
    ]
}
