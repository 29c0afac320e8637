//! The controls of the tape machine, under either mode's page.

use super::align_controls::{SPOT_IN_PRINT, has_spot_in_print};
use crate::editor::frame::{Control, Frame};
use crate::editor::widgets::{Choice, ChoiceOption, ControlItem, NumberField, Switch, Unit};
use crate::params::LOWEST_HISS_DB;

const PRINT: Switch = Switch {
    control: Control::Print,
    word: "Print",
    tip: "The pair, with the spot in it, as a two-track tape gives it back. Adds a little latency while on.",
};
const LEVEL: NumberField = NumberField {
    control: Control::TapeLevel,
    title: "Level to tape",
    unit: Unit::Decibels,
    tip: "How hot the print is recorded; it comes back as loud as it was. Hotter rounds the attacks first.",
};
const SPEED: Choice = Choice {
    control: Control::TapeSpeed,
    title: "Tape speed",
    options: &[
        ChoiceOption {
            word: "19",
            tip: "19 cm/s, 7.5 inches a second: cymbals saturate earliest, and the low end stays.",
        },
        ChoiceOption {
            word: "38",
            tip: "38 cm/s, 15 inches a second: a decibel more around 60 Hz.",
        },
        ChoiceOption {
            word: "76",
            tip: "76 cm/s, 30 inches a second: a decibel more around 120 Hz, and less below 60.",
        },
    ],
};
const EQUALISATION: Choice = Choice {
    control: Control::TapeEqualisation,
    title: "Equalisation",
    options: &[
        ChoiceOption {
            word: "IEC",
            tip: "The curves of IEC 60094-1.",
        },
        ChoiceOption {
            word: "NAB",
            tip: "The curves of NAB: hotter below 50 Hz; at 38 cm/s cymbals stay clearer, at 19 they saturate earlier. None of its own at 76.",
        },
    ],
};
const NOISE: NumberField = NumberField {
    control: Control::TapeNoise,
    title: "Tape noise",
    unit: Unit::DecibelsOrOff {
        lowest_db: LOWEST_HISS_DB,
    },
    tip: "Noise of the tape under the reference, the same on every bounce.",
};
const FLUXIVITY: NumberField = NumberField {
    control: Control::Fluxivity,
    title: "Reference fluxivity",
    unit: Unit::Nanowebers,
    tip: "The flux that counts as 0 dB: that of the test tape the machine is lined up with.",
};
const REFERENCE: NumberField = NumberField {
    control: Control::ReferenceLevel,
    title: "Reference level",
    unit: Unit::DecibelsFullScale,
    tip: "The level of a sine that is recorded at the reference while the level to tape is 0 dB.",
};

/// All of them; the spot's where there is one.
pub fn items(frame: &Frame) -> Vec<ControlItem> {
    let mut items = vec![
        ControlItem::Switch(&PRINT),
        ControlItem::Number(&LEVEL),
        ControlItem::Choice(&SPEED),
        ControlItem::Choice(&EQUALISATION),
        ControlItem::Number(&NOISE),
        ControlItem::Number(&FLUXIVITY),
        ControlItem::Number(&REFERENCE),
    ];
    if has_spot_in_print(frame) {
        items.push(ControlItem::Number(&SPOT_IN_PRINT));
    }
    items
}
