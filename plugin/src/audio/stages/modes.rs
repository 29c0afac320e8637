//! Which stages each mode has, in the order of the signal.

use super::stage::StageKind;
use super::{align, decks, print};
use crate::audio::setup::Setup;
use crate::params::Mode;

/// In every mode, first.
const ALWAYS: &[&dyn StageKind] = &[&align::Kind];

/// Behind them, in every mode, while the print is on: both decks play the same print.
const PRINTED: &[&dyn StageKind] = &[&print::Kind];

/// Behind these, in each mode.
fn of_mode(mode: Mode) -> &'static [&'static dyn StageKind] {
    match mode {
        Mode::Align => &[],
        Mode::Sweep => &[&decks::Kind],
    }
}

/// All stages of a set-up.
pub fn stages(setup: &Setup) -> impl Iterator<Item = &'static dyn StageKind> {
    let printed = match setup.print {
        true => PRINTED,
        false => &[],
    };
    let of_mode = of_mode(setup.mode);
    ALWAYS.iter().chain(printed).chain(of_mode).copied()
}
