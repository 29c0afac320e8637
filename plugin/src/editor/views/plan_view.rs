//! The plan of the kit from above: strings from the snare to the microphones, and the difference between them.

use super::plan_drums::{Source, placed_drums};
use super::plan_layout::PlanLayout;
use crate::editor::drawing::{Canvas, describe, digit_font, panel, text_font};
use crate::editor::frame::{Air, Channels, Frame};
use crate::editor::wording::{distance, length, names};
use crate::session::Seat;
use egui::{Align2, Color32, Rect, Role, Ui, Vec2, pos2, vec2};

/// From this height on there is room for the scale beside the second's figures, points.
const SCALED: f32 = 170.0;
/// Squares of the grid, points.
const SQUARE: f32 = 40.0;
/// One microphone and its string.
struct Microphone {
    name: String,
    direction: Vec2,
    color: Color32,
    mark: Mark,
    /// From the snare, where the spot said so.
    way_s: Option<f64>,
    /// Points; the first part of it is shared with the other.
    length: f32,
}

/// How a microphone is drawn, so that the two are told apart without their colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Mark {
    Ring,
    Square,
}

/// Draws the plan.
pub fn plan_view(ui: &Ui, rect: Rect, frame: &Frame) {
    panel(ui, rect, "");
    describe_plan(ui, rect, frame);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    squares(&canvas, rect);
    let caption = match frame.window.seat {
        Seat::Stool => "Plan, from above, the stool below",
        Seat::Audience => "Plan, from above, the audience below",
    };
    canvas.caption(rect.min + vec2(12.0, 10.0), Align2::LEFT_TOP, caption);
    let layout = PlanLayout::new(rect, frame);
    kit(&canvas, &layout, frame);
    match frame.activation.channels {
        Channels::Pair => pair(&canvas, &layout, frame),
        Channels::Mono => mono(&canvas, &layout, frame),
    }
    foot(&canvas, rect, &layout, frame);
}

fn describe_plan(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = match frame.lag() {
        Some(lag) => format!(
            "Plan of the kit: the gap is {}",
            length(&frame.air(), lag.attack_s)
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

fn kit(canvas: &Canvas, layout: &PlanLayout, frame: &Frame) {
    for drum in placed_drums(layout, frame) {
        let middle = layout.snare + layout.sides.turn(drum.place_cm) * layout.scale;
        let (radius, color) = (drum.radius_cm * layout.scale, canvas.palette.muted);
        match drum.source {
            Source::Measured => canvas.circle(middle, radius, 1.2, color),
            Source::Orientation => canvas.dashed_circle(middle, radius, 1.0, color),
        }
        if drum.radius_cm * layout.scale > 9.0 {
            canvas.note(middle, Align2::CENTER_CENTER, drum.name);
        }
    }
    let ink = canvas.palette.foreground;
    canvas.circle(layout.snare, 18.0 * layout.scale, 1.8, ink);
    canvas.painter.circle_filled(layout.snare, 2.5, ink);
    let under = layout.snare + vec2(0.0, 18.0 * layout.scale + 4.0);
    let name = match frame.measurement().chosen() {
        Some(drum) => frame.drum_name(drum),
        None => "snare".to_owned(),
    };
    canvas.text(under, Align2::CENTER_TOP, name, text_font(12.0), ink);
}

fn pair(canvas: &Canvas, layout: &PlanLayout, frame: &Frame) {
    let gap_s = frame.lag().map_or(0.0, |lag| lag.attack_s);
    let [first, second] = microphones(canvas, layout, frame, gap_s);
    for microphone in [&first, &second] {
        string(canvas, layout, microphone);
        label(canvas, layout, microphone, &frame.air());
    }
    if frame.lag().is_some() {
        let longer = if gap_s >= 0.0 { &second } else { &first };
        difference(canvas, layout, longer, &frame.air(), gap_s);
    }
}

/// Both microphones of a pair.
fn microphones(canvas: &Canvas, layout: &PlanLayout, frame: &Frame, gap_s: f64) -> [Microphone; 2] {
    let names = names(frame);
    let first = frame.measurement().spot_to_first;
    let first_s = first.filter(|_| layout.measured).map(|lag| lag.attack_s);
    let (shorter, longer) = (layout.shared, layout.shared + layout.extra);
    let (first_length, second_length) = match gap_s >= 0.0 {
        true => (shorter, longer),
        false => (longer, shorter),
    };
    [
        Microphone {
            name: names.early.to_owned(),
            direction: layout.directions[0],
            color: canvas.palette.first,
            mark: Mark::Ring,
            way_s: first_s,
            length: first_length,
        },
        Microphone {
            name: names.late.to_owned(),
            direction: layout.directions[1],
            color: canvas.palette.second,
            mark: Mark::Square,
            way_s: first_s.map(|way_s| way_s + gap_s),
            length: second_length,
        },
    ]
}

fn mono(canvas: &Canvas, layout: &PlanLayout, frame: &Frame) {
    let lag = frame.lag();
    let channel = Microphone {
        name: names(frame).late.to_owned(),
        direction: layout.directions[1],
        color: canvas.palette.second,
        mark: Mark::Ring,
        way_s: lag.map(|lag| lag.attack_s),
        length: layout.shared,
    };
    string(canvas, layout, &channel);
    label(canvas, layout, &channel, &frame.air());
}

fn string(canvas: &Canvas, layout: &PlanLayout, microphone: &Microphone) {
    let level = layout.along(microphone.direction, layout.shared);
    let end = layout.along(microphone.direction, microphone.length);
    canvas.line(layout.snare, level, 1.6, microphone.color);
    if microphone.length - layout.shared >= 1.0 {
        canvas.dashed(level, end, 1.6, microphone.color);
        canvas.circle(level, 7.0, 1.0, microphone.color);
    }
    match microphone.mark {
        Mark::Ring => canvas.ring(end, 7.0, 1.8, microphone.color),
        Mark::Square => canvas.square(end, 6.5, 1.8, microphone.color),
    }
}

fn label(canvas: &Canvas, layout: &PlanLayout, microphone: &Microphone, air: &Air) {
    let end = layout.along(microphone.direction, microphone.length);
    let (at, hang) = match microphone.direction.x < 0.0 {
        true => (end - vec2(14.0, 0.0), Align2::RIGHT_BOTTOM),
        false => (end + vec2(14.0, 0.0), Align2::LEFT_BOTTOM),
    };
    canvas.text(
        at,
        hang,
        &microphone.name,
        text_font(13.0),
        microphone.color,
    );
    if let Some(way_s) = microphone.way_s {
        let below = Align2([hang.x(), egui::Align::TOP]);
        canvas.text(
            at,
            below,
            distance(air, way_s),
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
    let text = length(air, gap_s);
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
    if layout.measured && rect.height() >= SCALED {
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
