//! What the hand strip is for in each motion: a brake, or the offset; and its words.

use crate::editor::frame::{Control, Frame};
use plumbline_dsp::decks::motion::Motion;

/// What the strip is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StripUse {
    /// A force as long as it is held.
    Brake,
    /// A position that stays.
    Offset,
}

impl StripUse {
    /// In the current motion.
    pub fn of(frame: &Frame) -> Self {
        match frame.decks.course.motion {
            Motion::Drag => Self::Brake,
            _ => Self::Offset,
        }
    }

    /// The parameter that it moves.
    pub fn control(self) -> Control {
        match self {
            Self::Brake => Control::Drag,
            Self::Offset => Control::Offset,
        }
    }

    /// Of the panel.
    pub fn caption(self, motion: Motion) -> &'static str {
        match (self, motion) {
            (Self::Brake, _) => "Drag: brake a deck by hand",
            (_, Motion::Hand) => "Hand: put the moving deck",
            _ => "Centre of the travel",
        }
    }

    /// At the left end, in the middle, at the right end.
    pub fn ends(self) -> [&'static str; 3] {
        match self {
            Self::Brake => ["fixed deck", "let go: runs free", "moving deck"],
            Self::Offset => ["early", "null point", "late"],
        }
    }

    /// What it is called without the drawing around it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Brake => "Brake by hand",
            Self::Offset => "Offset by hand",
        }
    }

    /// How to use it.
    pub fn tip(self) -> &'static str {
        match self {
            Self::Brake => {
                "Hold and pull: to the right brakes the moving deck, to the left the fixed one. Let go and both run \
                 free. Arrow keys brake while they are held."
            }
            Self::Offset => {
                "Pull the moving deck early or late; Shift is fine. Arrow keys step, double-click or Delete is back \
                 at zero."
            }
        }
    }
}
