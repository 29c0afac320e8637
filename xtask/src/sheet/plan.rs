//! The plan of the kit from above: strings from the snare to both overheads, and the difference between them.

use super::drawing::{Drawing, Point, TextAnchor, signed};
use crate::alignment::Units;

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 330.0;
/// Where the snare is drawn.
const SNARE: Point = (236.0, 214.0);
/// Longest shared length, pixels, and longest string with the difference, that fit the paper in both directions.
const ROOM: (f64, f64) = (140.0, 180.0);
/// Length of a string that was not measured, or makes no sense as a distance, cm.
const UNKNOWN_CM: f64 = 120.0;
/// Shorter than this no overhead hangs: the spot was moved in time, cm.
const ABSURD_CM: f64 = 20.0;
/// Largest scale, pixels of a centimetre.
const LARGEST: f64 = 1.25;
/// The difference is magnified until it is this long, pixels, so that it can be seen.
const LEAST: f64 = 26.0;
/// Directions of the microphones, as unit vectors of the paper: over the hi-hat, over the floor tom.
const FIRST: Point = (-0.497, -0.868);
const SECOND: Point = (0.994, 0.114);

/// Drums beside the snare, cm from its middle (right, back), radius, name.
const KIT: [(f64, f64, f64, &str); 5] = [
    (42.0, 60.0, 28.0, "kick"),
    (-45.0, 14.0, 18.0, "hat"),
    (3.0, 50.0, 16.0, "rack"),
    (99.0, 39.0, 24.0, "ride"),
    (74.0, -24.0, 21.0, "floor"),
];

/// What the strings measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strings {
    /// Point to first, seconds, where a spot was there.
    pub first_s: Option<f64>,
    /// Second minus first, seconds.
    pub gap_s: f64,
}

/// The strings on paper.
struct Layout {
    /// Pixels of a centimetre.
    scale: f64,
    /// Length both strings share, pixels.
    shared: f64,
    /// Pixels by which the longer one is longer.
    extra: f64,
    /// How many times larger than the rest the difference is drawn.
    magnified: u32,
    /// The shared length was measured.
    measured: bool,
}

/// Draws the plan.
pub fn draw(strings: &Strings, drum: &str, scale: &Units) -> String {
    let mut drawing = Drawing::new(WIDTH, HEIGHT, "Plan, from above");
    let layout = lay_out(strings, scale);
    grid(&mut drawing);
    kit(&mut drawing, layout.scale, drum);
    let second_is_longer = strings.gap_s >= 0.0;
    let first_cm = strings
        .first_s
        .filter(|_| layout.measured)
        .map(|seconds| scale.cm(seconds));
    let ends = [
        ("first", FIRST, first_cm),
        (
            "second",
            SECOND,
            first_cm.map(|cm| cm + scale.cm(strings.gap_s)),
        ),
    ];
    for (name, direction, cm) in ends {
        let longer = (name == "second") == second_is_longer;
        string(&mut drawing, &layout, name, direction, longer);
        label(&mut drawing, &layout, name, direction, cm, longer);
    }
    difference(&mut drawing, &layout, strings, scale);
    foot(&mut drawing, &layout);
    drawing.finish(&format!(
        "Plan of the kit: the gap is {} cm, second minus first",
        signed(scale.cm(strings.gap_s), 1)
    ))
}

fn lay_out(strings: &Strings, scale: &Units) -> Layout {
    let gap_cm = scale.cm(strings.gap_s).abs();
    let shorter_cm = strings
        .first_s
        .map(|first_s| scale.cm(first_s + strings.gap_s.min(0.0)));
    let measured = shorter_cm.is_some_and(|cm| cm >= ABSURD_CM);
    let shared_cm = if measured {
        shorter_cm.unwrap_or(UNKNOWN_CM)
    } else {
        UNKNOWN_CM
    };
    let per_cm = LARGEST
        .min(ROOM.0 / shared_cm)
        .min(ROOM.1 / (shared_cm + gap_cm));
    let magnified = [1, 2, 5, 10, 20]
        .into_iter()
        .find(|times| f64::from(*times) * gap_cm * per_cm >= LEAST)
        .unwrap_or(20);
    Layout {
        scale: per_cm,
        shared: shared_cm * per_cm,
        extra: f64::from(magnified) * gap_cm * per_cm,
        magnified,
        measured,
    }
}

fn along(direction: Point, length: f64) -> Point {
    (
        SNARE.0 + direction.0 * length,
        SNARE.1 + direction.1 * length,
    )
}

fn grid(drawing: &mut Drawing) {
    for x in (40..WIDTH as i32).step_by(40) {
        drawing.line("grid", (f64::from(x), 28.0), (f64::from(x), HEIGHT - 28.0));
    }
    for y in (40..HEIGHT as i32 - 28).step_by(40) {
        drawing.line("grid", (1.0, f64::from(y)), (WIDTH - 1.0, f64::from(y)));
    }
}

fn kit(drawing: &mut Drawing, per_cm: f64, drum: &str) {
    for (right, back, radius, name) in KIT {
        let middle = (SNARE.0 + right * per_cm, SNARE.1 - back * per_cm);
        drawing.circle("outline", middle, radius * per_cm);
        drawing.text(
            "small faint-text",
            (middle.0, middle.1 + 4.0),
            TextAnchor::Middle,
            name,
        );
    }
    drawing.circle("ink", SNARE, 18.0 * per_cm);
    drawing.circle("dot", SNARE, 2.5);
    drawing.text(
        "small",
        (SNARE.0, SNARE.1 + 18.0 * per_cm + 15.0),
        TextAnchor::Middle,
        drum,
    );
}

fn string(drawing: &mut Drawing, layout: &Layout, name: &str, direction: Point, longer: bool) {
    let class = if name == "first" { "ink" } else { "accent" };
    let level = along(direction, layout.shared);
    drawing.line(class, SNARE, level);
    let end = if longer {
        along(direction, layout.shared + layout.extra)
    } else {
        level
    };
    if longer && layout.extra >= 1.0 {
        drawing.line(&format!("{class} dash"), level, end);
        drawing.circle(&format!("{class} dash paper"), level, 6.0);
    }
    drawing.circle(&format!("{class} paper"), end, 7.0);
}

fn label(
    drawing: &mut Drawing,
    layout: &Layout,
    name: &str,
    direction: Point,
    cm: Option<f64>,
    longer: bool,
) {
    let length = layout.shared + if longer { layout.extra } else { 0.0 };
    let end = along(direction, length);
    let class = if name == "first" {
        "label"
    } else {
        "label accent-text"
    };
    let (at, anchor) = if direction.0 < 0.0 {
        ((end.0 - 14.0, end.1), TextAnchor::End)
    } else {
        ((end.0 + 14.0, end.1), TextAnchor::Start)
    };
    drawing.text(class, at, anchor, name);
    if let Some(cm) = cm {
        drawing.text(
            &format!("{class} figures"),
            (at.0, at.1 + 15.0),
            anchor,
            &format!("{cm:.1} cm"),
        );
    }
}

fn difference(drawing: &mut Drawing, layout: &Layout, strings: &Strings, scale: &Units) {
    let second_is_longer = strings.gap_s >= 0.0;
    let direction = if second_is_longer { SECOND } else { FIRST };
    let (from, to) = (
        along(direction, layout.shared),
        along(direction, layout.shared + layout.extra),
    );
    let text = format!("{} cm", signed(scale.cm(strings.gap_s), 1));
    let aside = if second_is_longer { -24.0 } else { 24.0 };
    if layout.extra >= 1.0 {
        drawing.dimension("accent", from, to, aside);
    }
    let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
    let (at, anchor) = if second_is_longer {
        ((middle.0, middle.1 - 36.0), TextAnchor::Middle)
    } else {
        ((middle.0 + 34.0, middle.1 - 8.0), TextAnchor::Start)
    };
    drawing.text("label figures", at, anchor, &text);
}

fn foot(drawing: &mut Drawing, layout: &Layout) {
    let base = HEIGHT - 12.0;
    let magnified = if layout.magnified == 1 {
        String::new()
    } else {
        format!(" Difference drawn ×{}.", layout.magnified)
    };
    let strings = if layout.measured {
        "Strings laid flat, to scale, from the spot."
    } else {
        "Strings not to scale."
    };
    drawing.text(
        "small",
        (12.0, base),
        TextAnchor::Start,
        &format!("{strings}{magnified} Kit for orientation."),
    );
    if layout.measured {
        let half_metre = 50.0 * layout.scale;
        drawing.dimension(
            "ink",
            (WIDTH - 16.0 - half_metre, base - 4.0),
            (WIDTH - 16.0, base - 4.0),
            0.0,
        );
        drawing.text(
            "small",
            (WIDTH - 16.0 - half_metre / 2.0, base - 10.0),
            TextAnchor::Middle,
            "50 cm",
        );
    }
}
