//! The plan of the kit from above: strings from the snare to the microphones, and the difference between them.

use super::plan_drums::{PlacedDrum, Source, placed_drums};
use super::plan_labels::Labels;
use super::plan_layout::{PlanLayout, Scale};
use crate::editor::drawing::{Canvas, describe, digit_font, panel, text_font};
use crate::editor::frame::{Air, Channels, Frame};
use crate::editor::wording::{distance, length, names};
use crate::session::Seat;
use egui::{Align2, Color32, FontId, Pos2, Rect, Role, Ui, Vec2, pos2, vec2};
use plumbline_dsp::drum_names::with_article;

/// Squares of the grid, points.
const SQUARE: f32 = 40.0;
/// The snare's radius, cm.
const SNARE_CM: f32 = 18.0;
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
    let mut labels = Labels::new(rect.shrink(4.0));
    let at = rect.min + vec2(12.0, 10.0);
    labels.word(canvas.caption(at, Align2::LEFT_TOP, caption));
    let layout = PlanLayout::new(rect, frame);
    let drums = placed_drums(&layout, frame);
    kit(&canvas, &layout, &drums, &mut labels);
    foot(&canvas, rect, &layout, frame, &mut labels);
    match frame.activation.channels {
        Channels::Pair => pair(&canvas, &layout, frame, &mut labels),
        Channels::Mono => mono(&canvas, &layout, frame, &mut labels),
    }
    drum_names(&canvas, &layout, frame, &drums, &mut labels);
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

/// The drums as circles.
fn kit(canvas: &Canvas, layout: &PlanLayout, drums: &[PlacedDrum], labels: &mut Labels) {
    for drum in drums {
        let ((middle, radius), color) = (circle(layout, drum), canvas.palette.muted);
        match drum.source {
            Source::Measured => canvas.circle(middle, radius, 1.2, color),
            Source::Orientation => canvas.dashed_circle(middle, radius, 1.0, color),
        }
        labels.circle(middle, radius);
    }
    let ink = canvas.palette.foreground;
    let radius = SNARE_CM * layout.scale;
    canvas.circle(layout.snare, radius, 1.8, ink);
    canvas.painter.circle_filled(layout.snare, 2.5, ink);
    labels.circle(layout.snare, radius);
}

fn circle(layout: &PlanLayout, drum: &PlacedDrum) -> (Pos2, f32) {
    let middle = layout.snare + layout.sides.turn(drum.place_cm) * layout.scale;
    (middle, drum.radius_cm * layout.scale)
}

/// The aligned drum's name, and of the others those that find room.
fn drum_names(
    canvas: &Canvas,
    layout: &PlanLayout,
    frame: &Frame,
    drums: &[PlacedDrum],
    labels: &mut Labels,
) {
    let ink = canvas.palette.foreground;
    let name = match frame.measurement().chosen() {
        Some(drum) => frame.drum_name(drum),
        None => "snare".to_owned(),
    };
    let around = around(layout.snare, SNARE_CM * layout.scale);
    let size = size(canvas, &name, text_font(12.0));
    let (at, hang) = labels.place_anyhow(size, &around);
    canvas.text(at, hang, name, text_font(12.0), ink);
    for drum in drums {
        let (middle, radius) = circle(layout, drum);
        let mut places = vec![(middle, Align2::CENTER_CENTER)];
        places.extend(self::around(middle, radius));
        let size = self::size(canvas, &drum.name, text_font(11.0));
        if let Some((at, hang)) = labels.place(size, &places) {
            canvas.note(at, hang, &drum.name);
        }
    }
}

/// Under a circle, over it, right and left of it.
fn around(middle: Pos2, radius: f32) -> [(Pos2, Align2); 4] {
    let off = radius + 5.0;
    [
        (middle + vec2(0.0, off), Align2::CENTER_TOP),
        (middle - vec2(0.0, off), Align2::CENTER_BOTTOM),
        (middle + vec2(off, 0.0), Align2::LEFT_CENTER),
        (middle - vec2(off, 0.0), Align2::RIGHT_CENTER),
    ]
}

fn size(canvas: &Canvas, text: &str, font: FontId) -> Vec2 {
    let color = canvas.palette.muted;
    let galley = canvas.painter.layout_no_wrap(text.to_owned(), font, color);
    galley.size()
}

fn pair(canvas: &Canvas, layout: &PlanLayout, frame: &Frame, labels: &mut Labels) {
    let gap_s = frame.lag().map_or(0.0, |lag| lag.attack_s);
    let [first, second] = microphones(canvas, layout, frame, gap_s);
    for microphone in [&first, &second] {
        string(canvas, layout, microphone, labels);
        label(canvas, layout, microphone, &frame.air(), labels);
    }
    if frame.lag().is_some() {
        let longer = if gap_s >= 0.0 { &second } else { &first };
        difference(canvas, layout, longer, &length(&frame.air(), gap_s), labels);
    }
}

/// Both microphones of a pair.
fn microphones(canvas: &Canvas, layout: &PlanLayout, frame: &Frame, gap_s: f64) -> [Microphone; 2] {
    let names = names(frame);
    let first = frame.measurement().spot_to_first;
    let is_measured = layout.worth == Scale::Measured;
    let first_s = first.filter(|_| is_measured).map(|lag| lag.attack_s);
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

fn mono(canvas: &Canvas, layout: &PlanLayout, frame: &Frame, labels: &mut Labels) {
    let lag = frame.lag();
    let channel = Microphone {
        name: names(frame).late.to_owned(),
        direction: layout.directions[1],
        color: canvas.palette.second,
        mark: Mark::Ring,
        way_s: lag.map(|lag| lag.attack_s),
        length: layout.shared,
    };
    string(canvas, layout, &channel, labels);
    label(canvas, layout, &channel, &frame.air(), labels);
}

fn string(canvas: &Canvas, layout: &PlanLayout, microphone: &Microphone, labels: &mut Labels) {
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
    labels.line(layout.snare, end);
    labels.circle(end, 7.0);
}

fn label(
    canvas: &Canvas,
    layout: &PlanLayout,
    microphone: &Microphone,
    air: &Air,
    labels: &mut Labels,
) {
    let end = layout.along(microphone.direction, microphone.length);
    let (at, hang) = match microphone.direction.x < 0.0 {
        true => (end - vec2(14.0, 0.0), Align2::RIGHT_BOTTOM),
        false => (end + vec2(14.0, 0.0), Align2::LEFT_BOTTOM),
    };
    let color = microphone.color;
    labels.word(canvas.text(at, hang, &microphone.name, text_font(13.0), color));
    if let Some(way_s) = microphone.way_s {
        let below = Align2([hang.x(), egui::Align::TOP]);
        let way = distance(air, way_s);
        labels.word(canvas.text(at, below, way, digit_font(12.0), color));
    }
}

fn difference(
    canvas: &Canvas,
    layout: &PlanLayout,
    longer: &Microphone,
    text: &str,
    labels: &mut Labels,
) {
    let from = layout.along(longer.direction, layout.shared);
    let to = layout.along(longer.direction, longer.length);
    let to_the_left = longer.direction.x < 0.0;
    let aside = if to_the_left { 22.0 } else { -22.0 };
    if layout.extra >= 1.0 {
        canvas.dimension(from, to, aside, canvas.palette.foreground);
        let along = (to - from).normalized();
        let across = vec2(-along.y, along.x) * aside;
        labels.line(from + across, to + across);
    }
    let middle = from + (to - from) / 2.0;
    let places = match to_the_left {
        true => [
            (middle + vec2(36.0, -8.0), Align2::LEFT_CENTER),
            (middle + vec2(36.0, 8.0), Align2::LEFT_CENTER),
            (middle + vec2(-16.0, 0.0), Align2::RIGHT_CENTER),
        ],
        false => [
            (middle + vec2(0.0, -34.0), Align2::CENTER_BOTTOM),
            (middle + vec2(24.0, -34.0), Align2::CENTER_BOTTOM),
            (middle + vec2(0.0, 14.0), Align2::CENTER_TOP),
        ],
    };
    let font = digit_font(13.0);
    let size = size(canvas, text, font.clone());
    let (at, hang) = labels.place_anyhow(size, &places);
    canvas.boxed_text(at, hang, text, font, canvas.palette.foreground);
}

fn foot(canvas: &Canvas, rect: Rect, layout: &PlanLayout, frame: &Frame, labels: &mut Labels) {
    // Beside the scale there is no room for more.
    let is_narrow = rect.width() < 420.0;
    let spot = frame.measurement().spots_own();
    let strings = match (frame.lag(), layout.worth, spot) {
        (None, ..) => "Not measured yet.".to_owned(),
        (_, Scale::Measured, _) if is_narrow => "Strings to scale.".to_owned(),
        (_, Scale::Measured, _) => "Strings to scale, from the spot's hits.".to_owned(),
        (_, Scale::Assumed, Some(own)) if !is_narrow => {
            format!(
                "To scale if {} stands as drawn.",
                with_article(&frame.drum_name(own))
            )
        }
        (_, Scale::Assumed | Scale::Unknown, _) => "Strings not to scale.".to_owned(),
    };
    let magnified = match layout.magnified {
        times if times > 1 && layout.extra >= 1.0 => format!(" Difference drawn ×{times}."),
        _ => String::new(),
    };
    let text = format!("{strings}{magnified}");
    let at = rect.left_bottom() + vec2(12.0, -10.0);
    labels.word(canvas.note(at, Align2::LEFT_BOTTOM, text));
    if layout.worth == Scale::Measured {
        scale(canvas, rect, layout, labels);
    }
}

/// How long half a metre is.
fn scale(canvas: &Canvas, rect: Rect, layout: &PlanLayout, labels: &mut Labels) {
    let right = rect.right_bottom() + vec2(-20.0, -16.0);
    let left = right - vec2(50.0 * layout.scale, 0.0);
    canvas.dimension(left, right, 0.0, canvas.palette.muted);
    labels.word(Rect::from_two_pos(left, right).expand(5.0));
    let at = left - vec2(9.0, 0.0);
    labels.word(canvas.note(at, Align2::RIGHT_CENTER, "50 cm"));
}
