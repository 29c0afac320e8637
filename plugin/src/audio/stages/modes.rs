//! Which stages each mode has, in the order of the signal.

use super::stage::StageKind;
use super::{align, decks};
use crate::params::Mode;

/// In every mode, first.
const ALWAYS: &[&dyn StageKind] = &[&align::Kind];

/// Behind them, in each mode.
fn of_mode(mode: Mode) -> &'static [&'static dyn StageKind] {
    match mode {
        Mode::Align => &[],
        Mode::Sweep => &[&decks::Kind],
    }
}

/// All stages of a mode.
pub fn stages(mode: Mode) -> impl Iterator<Item = &'static dyn StageKind> {
    ALWAYS.iter().chain(of_mode(mode)).copied()
}
