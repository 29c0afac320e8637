//! The controls of the decks at the foot of the sheet: each motion brings its own.

use super::control::Control;
use super::field::Field;
use super::foot::Item;
use super::frame::{Channels, Frame};
use super::switch::{Choice, Pick, Switch};
use super::unit::Unit;
use plumbline_dsp::decks::motion::Motion;

const ENGAGE: Switch = Switch {
    control: Control::Engage,
    word: "Engage",
    tip: "Off: the fixed deck alone, at the same latency and level.",
};
const MOTION: Choice = Choice {
    control: Control::Motion,
    title: "Motion",
    picks: &[
        Pick {
            word: "Hand",
            tip: "The moving deck is where Offset is: draw it, or automate it.",
        },
        Pick {
            word: "Cycle",
            tip: "To and fro around Offset.",
        },
        Pick {
            word: "Pass",
            tip: "One travel through the null point, on cue.",
        },
        Pick {
            word: "Drag",
            tip: "Brake a deck by hand: the offset builds up, and stays when you let go.",
        },
    ],
};
const OFFSET: Field = Field {
    control: Control::Offset,
    title: "Offset",
    unit: Unit::Milliseconds,
    tip: "Where the moving deck is. Positive: it is late.",
};
const CENTRE: Field = Field {
    tip: "Where the travel is centred. Positive: the moving deck is late.",
    ..OFFSET
};
const RANGE: Field = Field {
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
    picks: &[
        pick("1/4 beat"),
        pick("1/2 beat"),
        pick("1 beat"),
        pick("2 beats"),
        pick("1 bar"),
        pick("2 bars"),
        pick("4 bars"),
        pick("8 bars"),
        pick("16 bars"),
    ],
};
const RATE: Field = Field {
    control: Control::Rate,
    title: "Rate",
    unit: Unit::Hertz,
    tip: "Cycles or passes a second.",
};
const CURVE: Choice = Choice {
    control: Control::Curve,
    title: "Curve",
    picks: &[
        Pick {
            word: "Sine",
            tip: "Slowest at the turns.",
        },
        Pick {
            word: "Triangle",
            tip: "Constant speed.",
        },
        Pick {
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
const DRAG: Field = Field {
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
const WIDTH: Field = Field {
    control: Control::Width,
    title: "Width",
    unit: Unit::Percent,
    tip: "The second channel's offset as a part of the first's. 0: only the first moves; −100: they part.",
};
const BLEND: Field = Field {
    control: Control::Blend,
    title: "Blend",
    unit: Unit::Percent,
    tip: "0: the fixed deck. 50: both alike, the comb is deepest. 100: the moving deck.",
};
const FLIP: Switch = Switch {
    control: Control::Flip,
    word: "Flip",
    tip: "Turns the moving deck over: the null point is silent.",
};
const WOW: Field = Field {
    control: Control::Wow,
    title: "Wow",
    unit: Unit::Weighted,
    tip: "The moving deck's slow unsteadiness, as a weighted meter reads it. The null point wanders with it.",
};
const FLUTTER: Field = Field {
    control: Control::Flutter,
    title: "Flutter",
    unit: Unit::Weighted,
    tip: "The moving deck's fast unsteadiness, as a weighted meter reads it.",
};

const fn pick(word: &'static str) -> Pick {
    Pick {
        word,
        tip: "One cycle or one pass.",
    }
}

/// What this motion and this layout need.
pub fn items(frame: &Frame) -> Vec<Item> {
    let mut items = vec![Item::Switch(&ENGAGE), Item::Choice(&MOTION)];
    match frame.decks.course.motion {
        Motion::Hand => items.push(Item::Field(&OFFSET)),
        Motion::Cycle => items.extend(travel(frame)),
        Motion::Pass => {
            items.extend(travel(frame));
            items.push(Item::Push(&START));
        }
        Motion::Drag => items.extend([
            Item::Field(&CENTRE),
            Item::Field(&RANGE),
            Item::Field(&DRAG),
            Item::Switch(&RECUE),
        ]),
    }
    if frame.session.channels == Channels::Pair {
        items.push(Item::Field(&WIDTH));
    }
    items.extend([
        Item::Field(&BLEND),
        Item::Switch(&FLIP),
        Item::Field(&WOW),
        Item::Field(&FLUTTER),
    ]);
    items
}

/// Of a cycle and of a pass.
fn travel(frame: &Frame) -> [Item; 5] {
    let time = match frame.knobs.is_on(Control::Sync) {
        true => Item::List(&LENGTH),
        false => Item::Field(&RATE),
    };
    [
        Item::Field(&CENTRE),
        Item::Field(&RANGE),
        Item::Switch(&SYNC),
        time,
        Item::List(&CURVE),
    ]
}
