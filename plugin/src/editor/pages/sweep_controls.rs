//! The controls of the decks under the Sweep page: each motion brings its own.

use crate::editor::frame::{Channels, Control, Frame};
use crate::editor::widgets::{Choice, ChoiceOption, ControlItem, NumberField, Switch, Unit};
use plumbline_dsp::decks::motion::Motion;

const ENGAGE: Switch = Switch {
    control: Control::Engage,
    word: "Engage",
    tip: "Off: the fixed deck alone, at the same latency and level.",
};
const MOTION: Choice = Choice {
    control: Control::Motion,
    title: "Motion",
    options: &[
        ChoiceOption {
            word: "Hand",
            tip: "The moving deck is where Offset is: draw it, or automate it.",
        },
        ChoiceOption {
            word: "Cycle",
            tip: "To and fro around Offset.",
        },
        ChoiceOption {
            word: "Pass",
            tip: "One travel through the null point, on cue.",
        },
        ChoiceOption {
            word: "Drag",
            tip: "Brake a deck by hand: the offset builds up, and stays when you let go.",
        },
    ],
};
const OFFSET: NumberField = NumberField {
    control: Control::Offset,
    title: "Offset",
    unit: Unit::Milliseconds,
    tip: "Where the moving deck is. Positive: it is late.",
};
const CENTRE: NumberField = NumberField {
    tip: "Where the travel is centred. Positive: the moving deck is late.",
    ..OFFSET
};
const RANGE: NumberField = NumberField {
    control: Control::Range,
    title: "Range",
    unit: Unit::Milliseconds,
    tip: "Greatest distance from the centre.",
};
const SYNC: Switch = Switch {
    control: Control::Sync,
    word: "Sync",
    tip: "Lengths follow the host's tempo and bars.",
};
const LENGTH: Choice = Choice {
    control: Control::Length,
    title: "Length",
    options: &[
        option("1/4 beat"),
        option("1/2 beat"),
        option("1 beat"),
        option("2 beats"),
        option("1 bar"),
        option("2 bars"),
        option("4 bars"),
        option("8 bars"),
        option("16 bars"),
    ],
};
const RATE: NumberField = NumberField {
    control: Control::Rate,
    title: "Rate",
    unit: Unit::Hertz,
    tip: "Cycles or passes a second.",
};
const CURVE: Choice = Choice {
    control: Control::Curve,
    title: "Curve",
    options: &[
        ChoiceOption {
            word: "Sine",
            tip: "Slowest at the turns.",
        },
        ChoiceOption {
            word: "Triangle",
            tip: "Constant speed.",
        },
        ChoiceOption {
            word: "Reel",
            tip: "Constant speed, with inertia at the turns.",
        },
    ],
};
const START: Switch = Switch {
    control: Control::StartPass,
    word: "Start pass",
    tip: "Cues one pass: on the next bar line with Sync, at once without.",
};
const NULL_AT: NumberField = NumberField {
    control: Control::NullAt,
    title: "Null point at bar",
    unit: Unit::BarOrOff,
    tip: "The pass has its null point on this bar of the song, from any start and on every bounce, without a cue. 33.25: \
          a quarter of a bar later. The ring on the course can be dragged there.",
};
const EASE: NumberField = NumberField {
    control: Control::Ease,
    title: "Ease in",
    unit: Unit::Bars,
    tip: "The comb comes in over this length at the beginning of the pass, and goes out at its end. 0: it stands before \
          and after the pass too.",
};
const DRAG: NumberField = NumberField {
    control: Control::Drag,
    title: "Drag",
    unit: Unit::Percent,
    tip: "Braking force: positive on the moving deck, negative on the fixed one. It stays until it is set back; the \
          strip lets go by itself.",
};
const RECUE: Switch = Switch {
    control: Control::Recue,
    word: "Re-cue",
    tip: "While on, both decks are brought back together.",
};
const WIDTH: NumberField = NumberField {
    control: Control::Width,
    title: "Width",
    unit: Unit::Percent,
    tip: "The second channel's offset as a part of the first's. 0: only the first moves; −100: they part.",
};
const BLEND: NumberField = NumberField {
    control: Control::Blend,
    title: "Blend",
    unit: Unit::Percent,
    tip: "0: the fixed deck. 50: both alike, the comb is deepest. 100: the moving deck.",
};
const FLIP: Switch = Switch {
    control: Control::Flip,
    word: "Flip",
    tip: "Reverses the moving deck's polarity: the null point is silent.",
};
const WOW: NumberField = NumberField {
    control: Control::Wow,
    title: "Wow",
    unit: Unit::Weighted,
    tip: "The moving deck's slow unsteadiness, as a weighted meter reads it. The null point wanders with it.",
};
const FLUTTER: NumberField = NumberField {
    control: Control::Flutter,
    title: "Flutter",
    unit: Unit::Weighted,
    tip: "The moving deck's fast unsteadiness, as a weighted meter reads it.",
};

const fn option(word: &'static str) -> ChoiceOption {
    ChoiceOption {
        word,
        tip: "One cycle or one pass.",
    }
}

/// What this motion and this layout need.
pub fn items(frame: &Frame) -> Vec<ControlItem> {
    let mut items = vec![ControlItem::Switch(&ENGAGE), ControlItem::Choice(&MOTION)];
    match frame.decks.course.motion {
        Motion::Hand => items.push(ControlItem::Number(&OFFSET)),
        Motion::Cycle => items.extend(travel(frame)),
        Motion::Pass => {
            items.extend(travel(frame));
            items.extend([ControlItem::Number(&NULL_AT), ControlItem::Number(&EASE)]);
            if frame.decks.course.null_at.is_none() {
                items.push(ControlItem::Momentary(&START));
            }
        }
        Motion::Drag => items.extend([
            ControlItem::Number(&CENTRE),
            ControlItem::Number(&RANGE),
            ControlItem::Number(&DRAG),
            ControlItem::Switch(&RECUE),
        ]),
    }
    if frame.activation.channels == Channels::Pair {
        items.push(ControlItem::Number(&WIDTH));
    }
    items.extend([
        ControlItem::Number(&BLEND),
        ControlItem::Switch(&FLIP),
        ControlItem::Number(&WOW),
        ControlItem::Number(&FLUTTER),
    ]);
    items
}

/// Of a cycle and of a pass.
fn travel(frame: &Frame) -> [ControlItem; 5] {
    let time = match frame.knobs.is_on(Control::Sync) {
        true => ControlItem::Dropdown(&LENGTH),
        false => ControlItem::Number(&RATE),
    };
    [
        ControlItem::Number(&CENTRE),
        ControlItem::Number(&RANGE),
        ControlItem::Switch(&SYNC),
        time,
        ControlItem::Dropdown(&CURVE),
    ]
}
