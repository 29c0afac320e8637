//! The plan of the kit from above: strings from the snare to the microphones, and the difference between them.

use super::plan_layout::{FIRST, PlanLayout, SECOND};
use crate::editor::drawing::{Canvas, describe, digit_font, panel, signed, text_font};
use crate::editor::frame::{Air, Channels, Frame};
use crate::editor::wording::names;
use egui::{Align2, Color32, Rect, Role, Ui, Vec2, pos2, vec2};

/// Squares of the grid, points.
const SQUARE: f32 = 40.0;
/// Drums beside the snare, cm from its middle (right, back), radius, name. For orientation: no kit was measured.
const KIT: [(f32, f32, f32, &str); 5] = [
    (42.0, 60.0, 28.0, "kick"),
    (-45.0, 14.0, 18.0, "hat"),
    (3.0, 50.0, 16.0, "rack"),
    (99.0, 39.0, 24.0, "ride"),
    (74.0, -24.0, 21.0, "floor"),
];

/// One microphone and its string.
struct Microphone {
    name: &'static str,
    direction: Vec2,
    color: Color32,
    /// From the snare, where the spot said so.
    cm: Option<f64>,
    /// Points; the first part of it is shared with the other.
    length: f32,
}

/// Draws the plan.
pub fn plan_view(ui: &Ui, rect: Rect, frame: &Frame) {
    panel(ui, rect, "");
    describe_plan(ui, rect, frame);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    squares(&canvas, rect);
    canvas.caption(
        rect.min + vec2(12.0, 10.0),
        Align2::LEFT_TOP,
        "Plan, from above",
    );
    let layout = PlanLayout::new(rect, frame);
    kit(&canvas, &layout);
    match frame.activation.channels {
        Channels::Pair => pair(&canvas, &layout, frame),
        Channels::Mono => mono(&canvas, &layout, frame),
    }
    foot(&canvas, rect, &layout, frame);
}

fn describe_plan(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = match frame.lag() {
        Some(lag) => format!(
            "Plan of the kit: the gap is {} cm",
            signed(frame.air().cm(lag.attack_s), 1)
        ),
        None => "Plan of the kit: nothing measured yet".to_owned(),
    };
    describe(ui, rect, "plan", Role::Image, &text);
}

/// A square grid.
fn squares(canvas: &Canvas, rect: Rect) {
    let inner = rect.shrink(1.0);
    let color = canvas.palette.grid;
    let mut x = rect.min.x + SQUARE;
    while x < rect.max.x {
        canvas.line(pos2(x, inner.min.y), pos2(x, inner.max.y), 0.6, color);
        x += SQUARE;
    }
    let mut y = rect.min.y + SQUARE;
    while y < rect.max.y {
        canvas.line(pos2(inner.min.x, y), pos2(inner.max.x, y), 0.6, color);
        y += SQUARE;
    }
}

fn kit(canvas: &Canvas, layout: &PlanLayout) {
    for (right, back, radius, name) in KIT {
        let middle = layout.snare + vec2(right, -back) * layout.scale;
        canvas.circle(middle, radius * layout.scale, 1.2, canvas.palette.outline);
        if radius * layout.scale > 12.0 {
            canvas.note(middle, Align2::CENTER_CENTER, name);
        }
    }
    canvas.circle(
        layout.snare,
        18.0 * layout.scale,
        1.8,
        canvas.palette.foreground,
    );
    canvas
        .painter
        .circle_filled(layout.snare, 2.5, canvas.palette.foreground);
    let under = layout.snare + vec2(0.0, 18.0 * layout.scale + 4.0);
    canvas.text(
        under,
        Align2::CENTER_TOP,
        "snare",
        text_font(12.0),
        canvas.palette.foreground,
    );
}

fn pair(canvas: &Canvas, layout: &PlanLayout, frame: &Frame) {
    let gap_s = frame.lag().map_or(0.0, |lag| lag.attack_s);
    let [first, second] = microphones(canvas, layout, frame, gap_s);
    for microphone in [&first, &second] {
        string(canvas, layout, microphone);
        label(canvas, layout, microphone);
    }
    if frame.lag().is_some() {
        let longer = if gap_s >= 0.0 { &second } else { &first };
        difference(canvas, layout, longer, &frame.air(), gap_s);
    }
}

/// Both microphones of a pair.
fn microphones(canvas: &Canvas, layout: &PlanLayout, frame: &Frame, gap_s: f64) -> [Microphone; 2] {
    let air = frame.air();
    let first = frame.measurement().spot_to_first;
    let first_cm = first
        .filter(|_| layout.measured)
        .map(|lag| air.cm(lag.attack_s));
    let (shorter, longer) = (layout.shared, layout.shared + layout.extra);
    let (first_length, second_length) = match gap_s >= 0.0 {
        true => (shorter, longer),
        false => (longer, shorter),
    };
    [
        Microphone {
            name: "first",
            direction: FIRST,
            color: canvas.palette.first,
            cm: first_cm,
            length: first_length,
        },
        Microphone {
            name: "second",
            direction: SECOND,
            color: canvas.palette.second,
            cm: first_cm.map(|cm| cm + air.cm(gap_s)),
            length: second_length,
        },
    ]
}

fn mono(canvas: &Canvas, layout: &PlanLayout, frame: &Frame) {
    let air = frame.air();
    let lag = frame.lag();
    let channel = Microphone {
        name: names(Channels::Mono).late,
        direction: SECOND,
        color: canvas.palette.second,
        cm: lag.map(|lag| air.cm(lag.attack_s)),
        length: layout.shared,
    };
    string(canvas, layout, &channel);
    label(canvas, layout, &channel);
}

fn string(canvas: &Canvas, layout: &PlanLayout, microphone: &Microphone) {
    let level = layout.along(microphone.direction, layout.shared);
    let end = layout.along(microphone.direction, microphone.length);
    canvas.line(layout.snare, level, 1.6, microphone.color);
    if microphone.length - layout.shared >= 1.0 {
        canvas.dashed(level, end, 1.6, microphone.color);
        canvas.circle(level, 7.0, 1.0, microphone.color);
    }
    canvas.ring(end, 7.0, 1.8, microphone.color);
}

fn label(canvas: &Canvas, layout: &PlanLayout, microphone: &Microphone) {
    let end = layout.along(microphone.direction, microphone.length);
    let (at, hang) = match microphone.direction.x < 0.0 {
        true => (end - vec2(14.0, 0.0), Align2::RIGHT_BOTTOM),
        false => (end + vec2(14.0, 0.0), Align2::LEFT_BOTTOM),
    };
    canvas.text(at, hang, microphone.name, text_font(13.0), microphone.color);
    if let Some(cm) = microphone.cm {
        let below = Align2([hang.x(), egui::Align::TOP]);
        canvas.text(
            at,
            below,
            format!("{cm:.1} cm"),
            digit_font(12.0),
            microphone.color,
        );
    }
}

fn difference(canvas: &Canvas, layout: &PlanLayout, longer: &Microphone, air: &Air, gap_s: f64) {
    let from = layout.along(longer.direction, layout.shared);
    let to = layout.along(longer.direction, longer.length);
    let to_the_left = longer.direction.x < 0.0;
    let aside = if to_the_left { 22.0 } else { -22.0 };
    if layout.extra >= 1.0 {
        canvas.dimension(from, to, aside, canvas.palette.foreground);
    }
    let middle = from + (to - from) / 2.0;
    let (at, hang) = match to_the_left {
        true => (middle + vec2(36.0, -8.0), Align2::LEFT_CENTER),
        false => (middle + vec2(0.0, -34.0), Align2::CENTER_BOTTOM),
    };
    let text = format!("{} cm", signed(air.cm(gap_s), 1));
    canvas.boxed_text(at, hang, text, digit_font(13.0), canvas.palette.foreground);
}

fn foot(canvas: &Canvas, rect: Rect, layout: &PlanLayout, frame: &Frame) {
    // Beside the scale there is no room for more.
    let is_narrow = rect.width() < 420.0;
    let strings = match (frame.lag(), layout.measured) {
        (None, _) => "Not measured yet.",
        (_, true) if is_narrow => "Strings to scale.",
        (_, true) => "Strings to scale, from the spot's hits.",
        (_, false) => "Strings not to scale.",
    };
    let magnified = match layout.magnified {
        times if times > 1 && layout.extra >= 1.0 => format!(" Difference drawn ×{times}."),
        _ => String::new(),
    };
    let text = format!("{strings}{magnified}");
    canvas.note(
        rect.left_bottom() + vec2(12.0, -10.0),
        Align2::LEFT_BOTTOM,
        text,
    );
    if layout.measured {
        let right = rect.right_bottom() + vec2(-20.0, -16.0);
        let left = right - vec2(50.0 * layout.scale, 0.0);
        canvas.dimension(left, right, 0.0, canvas.palette.muted);
        canvas.note(
            left + (right - left) / 2.0 - vec2(0.0, 4.0),
            Align2::CENTER_BOTTOM,
            "50 cm",
        );
    }
}
