//! The sound examples of the manual: what each one is made of, and what it is compared with.

use plumbline_dsp::plan::Match;

/// Examples that belong together, and the name of their place in the document.
pub struct Group {
    pub key: &'static str,
    pub examples: &'static [Example],
}

/// One sound example.
#[derive(Debug)]
pub struct Example {
    /// Name of its file.
    pub name: &'static str,
    pub title: &'static str,
    pub recipe: Recipe,
    pub channels: Channels,
    /// The example that its figure is drawn against.
    pub against: &'static str,
    pub figure: Figure,
}

/// Channels of an example.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channels {
    Stereo,
    /// Half of first + second.
    Mono,
}

/// What is computed and drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figure {
    /// Level over frequency, against the other example.
    Level,
    /// How alike the two tracks are over lag.
    Lag,
    /// The offset of the moving deck over time, read from the file beside the fixed deck alone.
    NullPoints,
    /// The loudest stroke beside the same one in the other example.
    Stroke,
}

/// What the plugin is set to.
#[derive(Clone, Copy, Debug)]
pub enum Recipe {
    /// The recorded pair, corrected so far (per cent), its polarity mended.
    Correct(Match, f64),
    /// The corrected pair, and one more control.
    Pair(&'static [Set]),
    /// The two tracks with the kick in them, the decks off, on tape.
    Tape(&'static [Set]),
    /// The two tracks on the decks.
    Decks(&'static [Set], Move),
}

/// A control and its value.
#[derive(Clone, Copy, Debug)]
pub enum Set {
    Number(&'static str, f64),
    Word(&'static str, &'static str),
}

/// What moves while the decks play; bars of the song.
#[derive(Clone, Copy, Debug)]
pub enum Move {
    Nothing,
    /// A pass begins on this bar; the decks are engaged for two bars from there.
    Pass(f64),
    /// A control follows a line of points BAR:VALUE.
    Line(&'static str, &'static str),
}

use Channels::{Mono, Stereo};
use Set::{Number, Word};

/// Speed of sound that the lengths are told with, m/s: dry air of 20 degrees (ISO 9613-1's reference), as the window has it.
const SOUND_M_S: f64 = 343.2;

/// The second channel later by a length of air.
const fn later_ms(metres: f64) -> f64 {
    metres / SOUND_M_S * 1e3
}

const fn gap(
    name: &'static str,
    title: &'static str,
    set: &'static [Set],
    channels: Channels,
) -> Example {
    Example {
        name,
        title,
        recipe: Recipe::Pair(set),
        channels,
        against: match channels {
            Mono => "together-mono",
            Stereo => "together-stereo",
        },
        figure: match channels {
            Mono => Figure::Level,
            Stereo => Figure::Lag,
        },
    }
}

const INCH: &[Set] = &[Number("nudge_second", later_ms(0.0254))];
const HAND: &[Set] = &[Number("nudge_second", later_ms(0.1016))];
const SPAN: &[Set] = &[Number("nudge_second", later_ms(0.15))];
const REVERSED: &[Set] = &[Word("polarity", "Flipped")];

const GAPS: &[Example] = &[
    gap("together-mono", "no gap, mono", &[], Mono),
    gap("inch-mono", "one inch, mono", INCH, Mono),
    gap("four-inches-mono", "four inches, mono", HAND, Mono),
    gap("fifteen-cm-mono", "fifteen centimetres, mono", SPAN, Mono),
    gap("together-stereo", "no gap, stereo", &[], Stereo),
    gap("inch-stereo", "one inch, stereo", INCH, Stereo),
    gap("four-inches-stereo", "four inches, stereo", HAND, Stereo),
    gap(
        "fifteen-cm-stereo",
        "fifteen centimetres, stereo",
        SPAN,
        Stereo,
    ),
];

const POLARITY: &[Example] = &[
    gap("right-mono", "polarity right, mono", &[], Mono),
    gap("reversed-mono", "polarity wrong, mono", REVERSED, Mono),
    gap("right-stereo", "polarity right, stereo", &[], Stereo),
    gap(
        "reversed-stereo",
        "polarity wrong, stereo",
        REVERSED,
        Stereo,
    ),
];

const fn corrected(name: &'static str, title: &'static str, target: Match, amount: f64) -> Example {
    Example {
        name,
        title,
        recipe: Recipe::Correct(target, amount),
        channels: Mono,
        against: "amount-0",
        figure: Figure::Level,
    }
}

const AMOUNT: &[Example] = &[
    corrected(
        "amount-0",
        "Amount 0 %: the gap as recorded, polarity right",
        Match::Attack,
        0.0,
    ),
    corrected("amount-50", "Amount 50 %", Match::Attack, 50.0),
    corrected("amount-100", "Amount 100 %", Match::Attack, 100.0),
];

const MATCH: &[Example] = &[
    corrected("match-attack", "Match Attack", Match::Attack, 100.0),
    corrected("match-body", "Match Body", Match::Body, 100.0),
    corrected("match-kit", "Match Kit", Match::Kit, 100.0),
];

const fn decks(
    name: &'static str,
    title: &'static str,
    set: &'static [Set],
    moves: Move,
) -> Example {
    Example {
        name,
        title,
        recipe: Recipe::Decks(set, moves),
        channels: Stereo,
        against: "decks-off",
        figure: Figure::NullPoints,
    }
}

const DECKS: &[Example] = &[
    decks(
        "decks-off",
        "the two tracks, Engage off",
        &[Number("engage", 0.0)],
        Move::Nothing,
    ),
    decks(
        "hand",
        "Hand: Offset drawn from −2 to +2 ms over bars 2 and 3",
        &[Word("motion", "Hand")],
        Move::Line("offset", "2:-2,4:2"),
    ),
    decks(
        "cycle",
        "Cycle: Length 2 bars, Range 3 ms, Sine",
        &[
            Word("motion", "Cycle"),
            Word("length", "2 bars"),
            Word("curve", "Sine"),
        ],
        Move::Nothing,
    ),
    decks(
        "pass",
        "Pass: Length 2 bars from bar 2, the null point on the line of bar 3",
        &[
            Word("motion", "Pass"),
            Word("length", "2 bars"),
            Word("curve", "Sine"),
        ],
        Move::Pass(2.0),
    ),
    decks(
        "drag",
        "Drag: the moving deck braked in bar 2, the fixed one in bar 3",
        &[Word("motion", "Drag")],
        Move::Line("drag", "1.5:0,2:40,2.5:40,2.6:0,3:0,3.1:-40,3.9:-40,4:0"),
    ),
];

const fn tape(name: &'static str, title: &'static str, set: &'static [Set]) -> Example {
    Example {
        name,
        title,
        recipe: Recipe::Tape(set),
        channels: Stereo,
        against: "print-off",
        figure: Figure::Stroke,
    }
}

const TAPE: &[Example] = &[
    tape("print-off", "Print off", &[]),
    tape(
        "print-0",
        "Level to tape 0 dB",
        &[Number("print", 1.0), Number("tape_level", 0.0)],
    ),
    tape(
        "print-6",
        "Level to tape +6 dB",
        &[Number("print", 1.0), Number("tape_level", 6.0)],
    ),
    tape(
        "print-12",
        "Level to tape +12 dB",
        &[Number("print", 1.0), Number("tape_level", 12.0)],
    ),
];

/// All of them, as the document has them.
pub const GROUPS: &[Group] = &[
    Group {
        key: "gap",
        examples: GAPS,
    },
    Group {
        key: "polarity",
        examples: POLARITY,
    },
    Group {
        key: "amount",
        examples: AMOUNT,
    },
    Group {
        key: "match",
        examples: MATCH,
    },
    Group {
        key: "decks",
        examples: DECKS,
    },
    Group {
        key: "tape",
        examples: TAPE,
    },
];
