//! The controls of Align under the Align page.

use crate::editor::frame::{Channels, Control, Frame};
use crate::editor::widgets::{Choice, ChoiceOption, ControlItem, NumberField, Switch, Unit};
use crate::params::LOWEST_SPOT_DB;

const MEASURE: Switch = Switch {
    control: Control::Measure,
    word: "Measure",
    tip: "While on, every hit refines the measurement. Off keeps it, and it is saved with the session.",
};
const CORRECT: Switch = Switch {
    control: Control::Correct,
    word: "Correct",
    tip: "On: after. Off: as recorded. Latency and level are the same.",
};
const AMOUNT: NumberField = NumberField {
    control: Control::Amount,
    title: "Amount",
    unit: Unit::Percent,
    tip: "The part of the measured correction that is applied: less keeps more of the room's depth.",
};
const MATCH: Choice = Choice {
    control: Control::Match,
    title: "Match",
    options: &[
        ChoiceOption {
            word: "Attack",
            tip: "The first wavefronts land together.",
        },
        ChoiceOption {
            word: "Body",
            tip: "The sum is fullest over the drum's first 40 ms.",
        },
        ChoiceOption {
            word: "Kit",
            tip: "The mono sum of the whole kit loses least: each drum by its own level, the drum twice.",
        },
    ],
};
const DRUM: Choice = Choice {
    control: Control::Drum,
    title: "Drum",
    options: &[
        ChoiceOption {
            word: "Auto",
            tip: "The spot's own drum, unless that is the kick: then the snare, as without a spot.",
        },
        ChoiceOption {
            word: "Snare",
            tip: "The snare is aligned, whatever the spot hears.",
        },
        ChoiceOption {
            word: "Kick",
            tip: "The kick is aligned.",
        },
        ChoiceOption {
            word: "Tom",
            tip: "The tom that is heard most is aligned.",
        },
        ChoiceOption {
            word: "Picked",
            tip: "The drum whose row was clicked in the kit map, or that was played in Placement. Kept by its sound.",
        },
    ],
};
const ANCHOR: Choice = Choice {
    control: Control::Anchor,
    title: "Anchor",
    options: &[
        ChoiceOption {
            word: "Later",
            tip: "The overhead that hears the drum later stays; the earlier one is held back. Needs no reach.",
        },
        ChoiceOption {
            word: "First",
            tip: "The first stays, the second is moved; earlier needs reach.",
        },
        ChoiceOption {
            word: "Second",
            tip: "The second stays, the first is moved; earlier needs reach.",
        },
        ChoiceOption {
            word: "Spot",
            tip: "Both are moved to the spot. Earlier needs reach.",
        },
    ],
};
const POLARITY: Choice = Choice {
    control: Control::Polarity,
    title: "Polarity",
    options: &[
        ChoiceOption {
            word: "As measured",
            tip: "The second's polarity is reversed when it is measured reversed; never on a doubtful verdict.",
        },
        ChoiceOption {
            word: "As recorded",
            tip: "Left as it is, whatever is measured.",
        },
        ChoiceOption {
            word: "Flipped",
            tip: "The second's polarity is reversed.",
        },
    ],
};
const NUDGE_FIRST: NumberField = NumberField {
    control: Control::NudgeFirst,
    title: "Nudge first",
    unit: Unit::Samples,
    tip: "Your own offset of the first on top of the measurement; positive is later.",
};
const NUDGE_CHANNEL: NumberField = NumberField {
    title: "Nudge",
    tip: "Your own offset on top of the measurement; positive is later.",
    ..NUDGE_FIRST
};
const NUDGE_SECOND: NumberField = NumberField {
    control: Control::NudgeSecond,
    title: "Nudge second",
    unit: Unit::Samples,
    tip: "Your own offset of the second on top of the measurement; positive is later.",
};
const REACH: NumberField = NumberField {
    control: Control::Reach,
    title: "Reach",
    unit: Unit::Milliseconds,
    tip: "How much earlier a channel may be pulled. It is added to the latency.",
};
const SPOT_TRIM: NumberField = NumberField {
    control: Control::SpotTrim,
    title: "Spot trim",
    unit: Unit::Milliseconds,
    tip: "For hosts that delay the side chain wrongly: added to what the spot says.",
};
pub const SPOT_IN_PRINT: NumberField = NumberField {
    control: Control::SpotLevel,
    title: "Spot in print",
    unit: Unit::DecibelsOrOff {
        lowest_db: LOWEST_SPOT_DB,
    },
    tip: "The spot in both channels, in time and in polarity with the pair: three microphones to two tracks.",
};
const AIR: NumberField = NumberField {
    control: Control::Temperature,
    title: "Air temperature",
    unit: Unit::Celsius,
    tip: "The temperature in the room, which turns time into distance. It changes no sound.",
};

/// Places in [`ANCHOR`].
const LATER: usize = 0;
const SPOT: usize = 3;

/// Somebody is moved to the spot.
fn is_moved_to_spot(frame: &Frame) -> bool {
    match frame.activation.channels {
        Channels::Pair => frame.knobs.choice(Control::Anchor) == SPOT,
        Channels::Mono => true,
    }
}

/// The spot is meant to be in the print.
fn is_in_print(frame: &Frame) -> bool {
    let level = frame.knobs.get(Control::SpotLevel);
    level.value > level.default
}

/// The spot can be in the print, or is meant to be.
pub fn has_spot_in_print(frame: &Frame) -> bool {
    let has_spot = frame.activation.channels == Channels::Pair && frame.activation.spot;
    has_spot || is_in_print(frame)
}

/// What this layout and this anchor need: reach where a channel may have to come earlier, the trim where the spot's
/// own time counts.
pub fn items(frame: &Frame) -> Vec<ControlItem> {
    let mut items = vec![
        ControlItem::Switch(&MEASURE),
        ControlItem::Switch(&CORRECT),
        ControlItem::Dropdown(&DRUM),
        ControlItem::Number(&AMOUNT),
        ControlItem::Choice(&MATCH),
    ];
    match frame.activation.channels {
        Channels::Pair => items.extend([
            ControlItem::Choice(&ANCHOR),
            ControlItem::Dropdown(&POLARITY),
            ControlItem::Number(&NUDGE_FIRST),
            ControlItem::Number(&NUDGE_SECOND),
        ]),
        Channels::Mono => items.extend([
            ControlItem::Dropdown(&POLARITY),
            ControlItem::Number(&NUDGE_CHANNEL),
        ]),
    }
    let to_spot = is_moved_to_spot(frame);
    let earlier = [Control::NudgeFirst, Control::NudgeSecond]
        .iter()
        .any(|nudge| frame.knobs.get(*nudge).value < 0.0);
    let later = frame.knobs.choice(Control::Anchor) == LATER;
    if to_spot || !later || earlier || frame.knobs.get(Control::Reach).value > 0.0 {
        items.push(ControlItem::Number(&REACH));
    }
    if has_spot_in_print(frame) {
        items.push(ControlItem::Number(&SPOT_IN_PRINT));
    }
    // Behind the level that brings it: nothing moves from under the hand.
    let trimmed = frame.knobs.get(Control::SpotTrim).value != 0.0;
    if to_spot || is_in_print(frame) || trimmed {
        items.push(ControlItem::Number(&SPOT_TRIM));
    }
    items.push(ControlItem::Number(&AIR));
    items
}
