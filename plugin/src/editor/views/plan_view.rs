//! The plan of the kit from above: strings from the snare to the microphones, and the difference between them.

use crate::editor::drawing::{Canvas, digit_font, panel, signed, text_font};
use crate::editor::frame::{Air, Channels, Frame};
use crate::editor::wording::names;
use egui::{Align2, Color32, Pos2, Rect, Role, Sense, Ui, Vec2, WidgetInfo, pos2, vec2};

/// Length of a string that was not measured, or makes no sense as a distance, cm.
const UNKNOWN_CM: f64 = 120.0;
/// Shorter than this no overhead hangs: the spot was moved in time, cm.
const ABSURD_CM: f64 = 20.0;
/// The difference is magnified until it is this long, points, so that it can be seen.
const LEAST: f32 = 26.0;
/// Part of the room that the shared length takes at most: the rest is for the difference.
const LARGEST_PART: f32 = 0.8;
/// Squares of the paper, points.
const SQUARE: f32 = 40.0;
/// Directions of the microphones, unit vectors of the paper: over the hi-hat, over the floor tom.
const FIRST: Vec2 = vec2(-0.497, -0.868);
const SECOND: Vec2 = vec2(0.994, 0.114);

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

/// Where things are on the paper.
struct Layout {
    snare: Pos2,
    /// Points of a centimetre.
    scale: f32,
    /// Points that both strings share.
    shared: f32,
    /// Points by which the longer one is longer.
    extra: f32,
    /// How many times larger than the rest the difference is drawn.
    magnified: u32,
    /// The shared length was measured.
    measured: bool,
}

/// Draws the plan.
pub fn plan_view(ui: &Ui, rect: Rect, frame: &Frame) {
    panel(ui, rect, "");
    describe(ui, rect, frame);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    squares(&canvas, rect);
    canvas.text(
        rect.min + vec2(12.0, 10.0),
        Align2::LEFT_TOP,
        "Plan, from above",
        text_font(12.0),
        canvas.palette.muted,
    );
    let layout = lay_out(rect, frame);
    kit(&canvas, &layout);
    match frame.activation.channels {
        Channels::Pair => pair(&canvas, &layout, frame),
        Channels::Mono => mono(&canvas, &layout, frame),
    }
    foot(&canvas, rect, &layout, frame);
}

fn describe(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = match frame.lag() {
        Some(lag) => format!(
            "Plan of the kit: the gap is {} cm",
            signed(frame.air().cm(lag.attack_s), 1)
        ),
        None => "Plan of the kit: nothing measured yet".to_owned(),
    };
    ui.interact(rect, ui.scope_id().with("plan"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Image, true, &text));
}

fn squares(canvas: &Canvas, rect: Rect) {
    let mut x = rect.min.x + SQUARE;
    while x < rect.max.x {
        canvas.line(
            pos2(x, rect.min.y + 1.0),
            pos2(x, rect.max.y - 1.0),
            0.6,
            canvas.palette.grid,
        );
        x += SQUARE;
    }
    let mut y = rect.min.y + SQUARE;
    while y < rect.max.y {
        canvas.line(
            pos2(rect.min.x + 1.0, y),
            pos2(rect.max.x - 1.0, y),
            0.6,
            canvas.palette.grid,
        );
        y += SQUARE;
    }
}

fn lay_out(rect: Rect, frame: &Frame) -> Layout {
    let air = frame.air();
    let snare = rect.min + rect.size() * vec2(0.42, 0.64);
    let gap_s = frame.lag().map_or(0.0, |lag| lag.attack_s);
    let pair_gap_s = match frame.activation.channels {
        Channels::Pair => gap_s,
        Channels::Mono => 0.0,
    };
    let gap_cm = air.cm(pair_gap_s).abs();
    let first = frame.measurement().spot_to_first;
    let shorter_cm = first.map(|first| air.cm(first.attack_s + pair_gap_s.min(0.0)));
    let measured = shorter_cm.is_some_and(|cm| cm >= ABSURD_CM);
    let shared_cm = shorter_cm.filter(|_| measured).unwrap_or(UNKNOWN_CM);
    // The string over the hi-hat goes up to the caption, the other one right to its own label.
    let up = ((snare.y - rect.min.y - 40.0) / -FIRST.y).max(30.0);
    let right = ((rect.max.x - snare.x - 96.0) / SECOND.x).max(30.0);
    let (longer, shorter) = match pair_gap_s < 0.0 {
        true => (up, right),
        false => (right, up),
    };
    let [shared_cm, gap_cm] = [shared_cm, gap_cm].map(|cm| cm as f32);
    let scale = (LARGEST_PART * longer / shared_cm)
        .min(longer / (shared_cm + gap_cm))
        .min(shorter / shared_cm);
    let true_extra = gap_cm * scale;
    let magnified = magnified(true_extra, longer - shared_cm * scale);
    Layout {
        snare,
        scale,
        shared: shared_cm * scale,
        extra: magnified as f32 * true_extra,
        magnified,
        measured,
    }
}

/// How many times the difference must be enlarged to be seen, as far as there is room for it.
fn magnified(true_extra: f32, room: f32) -> u32 {
    let drawn = |times: u32| times as f32 * true_extra;
    let fitting = [20, 10, 5, 2, 1]
        .into_iter()
        .filter(|times| drawn(*times) <= room);
    let seen = fitting.clone().filter(|times| drawn(*times) >= LEAST);
    seen.min().or(fitting.max()).unwrap_or(1)
}

fn kit(canvas: &Canvas, layout: &Layout) {
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

fn pair(canvas: &Canvas, layout: &Layout, frame: &Frame) {
    let air = frame.air();
    let gap_s = frame.lag().map_or(0.0, |lag| lag.attack_s);
    let first_cm = frame
        .measurement()
        .spot_to_first
        .filter(|_| layout.measured)
        .map(|lag| air.cm(lag.attack_s));
    let second_is_longer = gap_s >= 0.0;
    let length = |longer: bool| layout.shared + if longer { layout.extra } else { 0.0 };
    let microphones = [
        Microphone {
            name: "first",
            direction: FIRST,
            color: canvas.palette.first,
            cm: first_cm,
            length: length(!second_is_longer),
        },
        Microphone {
            name: "second",
            direction: SECOND,
            color: canvas.palette.second,
            cm: first_cm.map(|cm| cm + air.cm(gap_s)),
            length: length(second_is_longer),
        },
    ];
    for microphone in &microphones {
        string(canvas, layout, microphone);
        label(canvas, layout, microphone);
    }
    if frame.lag().is_some() {
        let longer = &microphones[usize::from(second_is_longer)];
        difference(canvas, layout, longer, &air, gap_s);
    }
}

fn mono(canvas: &Canvas, layout: &Layout, frame: &Frame) {
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

fn along(layout: &Layout, direction: Vec2, length: f32) -> Pos2 {
    layout.snare + direction * length
}

fn string(canvas: &Canvas, layout: &Layout, microphone: &Microphone) {
    let level = along(layout, microphone.direction, layout.shared);
    let end = along(layout, microphone.direction, microphone.length);
    canvas.line(layout.snare, level, 1.6, microphone.color);
    if microphone.length - layout.shared >= 1.0 {
        canvas.dashed(level, end, 1.6, microphone.color);
        canvas.circle(level, 7.0, 1.0, microphone.color);
    }
    canvas.ring(end, 7.0, 1.8, microphone.color);
}

fn label(canvas: &Canvas, layout: &Layout, microphone: &Microphone) {
    let end = along(layout, microphone.direction, microphone.length);
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

fn difference(canvas: &Canvas, layout: &Layout, longer: &Microphone, air: &Air, gap_s: f64) {
    let from = along(layout, longer.direction, layout.shared);
    let to = along(layout, longer.direction, longer.length);
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

fn foot(canvas: &Canvas, rect: Rect, layout: &Layout, frame: &Frame) {
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
