//! Placement: digits for the one who moves the stands, readable from the drum stool.

use crate::editor::action::Action;
use crate::editor::drawing::{Canvas, describe, digit_font, palette, signed, text_font};
use crate::editor::frame::{Channels, Control, Frame};
use crate::editor::views::later_color;
use crate::editor::widgets::{ButtonState, HEIGHT, Switch, button_width, switch, text_button};
use crate::editor::wording::{
    FAIRLY_SURE, TOGETHER_CM, certainty, distance, gap_words, hits, last_refused, length, names,
    other_length, verdict,
};
use egui::{Align2, Color32, FontId, Label, Rect, RichText, Role, Ui, Vec2, pos2, vec2};

const MEASURE: Switch = Switch {
    control: Control::Measure,
    word: "Measure",
    tip: "While on, every hit refines the measurement. Off and on again after a stand has been moved: a new \
          measurement begins.",
};

/// Draws it and follows the user.
pub fn placement_page(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let room = rect.shrink2(vec2(24.0, 14.0));
    let foot = room.with_min_y(room.max.y - HEIGHT);
    let measure = Rect::from_min_size(foot.min, vec2(110.0, HEIGHT));
    switch(ui, measure, &MEASURE, &frame.knobs, actions);
    let drawing = room.with_max_y(foot.min.y - 10.0);
    let playing = frame.playing.filter(|playing| playing.left > 0);
    match (frame.newest_lag_s(), frame.lag(), playing) {
        (_, _, Some(playing)) => countdown(ui, drawing, playing.left),
        (Some(lag_s), Some(_), None) => digits(ui, drawing, frame, lag_s),
        _ => waiting(ui, drawing, frame),
    }
    let four = Rect::from_min_size(
        measure.right_top() + vec2(8.0, 0.0),
        vec2(button_width(ui, FOUR_HITS), HEIGHT),
    );
    four_hits(ui, four, actions);
    last(ui, foot.with_min_x(four.max.x + 16.0), frame);
}

const FOUR_HITS: &str = "Four hits now";

fn four_hits(ui: &Ui, rect: Rect, actions: &mut Vec<Action>) {
    let id = ui.scope_id().with(FOUR_HITS);
    let tip = "Play four strokes of one drum: whatever it is, it is the one that is aligned from then on.";
    let response = text_button(ui, rect, id, FOUR_HITS, FOUR_HITS, ButtonState::Off);
    if response.on_hover_text(tip).clicked() {
        actions.push(Action::FourHits);
    }
}

/// How many strokes are still wanted, readable from the stool.
fn countdown(ui: &Ui, room: Rect, left: u8) {
    let canvas = Canvas::new(ui, room.expand(12.0));
    let (upper, lower) = room.split_top_bottom_at_fraction(0.7);
    let number = Line {
        text: left.to_string(),
        widest: "8",
        font: digit_font,
        color: canvas.palette.second,
    };
    let order = match left {
        1 => "One more stroke of the same drum".to_owned(),
        _ => format!("Play {left} strokes of one drum"),
    };
    let instruction = Line {
        text: order.clone(),
        widest: "One more stroke of the same drum",
        font: text_font,
        color: canvas.palette.foreground,
    };
    number.fill(&canvas, upper, upper.size());
    instruction.fill(&canvas, lower, lower.size() * vec2(0.9, 0.8));
    describe(ui, room, "digits", Role::Label, &order);
}

/// The font in which a text fills a width, but not more than a height.
fn fitting(canvas: &Canvas, text: &str, font: fn(f32) -> FontId, room: Vec2) -> FontId {
    let probe = 100.0;
    let color = canvas.palette.foreground;
    let galley = canvas
        .painter
        .layout_no_wrap(text.to_owned(), font(probe), color);
    let by_width = probe * room.x / galley.size().x.max(1.0);
    let by_height = probe * room.y / galley.size().y.max(1.0);
    font(by_width.min(by_height))
}

/// The lag in cm, what to do with the stands, and the lag in the other units.
fn digits(ui: &Ui, room: Rect, frame: &Frame, lag_s: f64) {
    let canvas = Canvas::new(ui, room.expand(12.0));
    let off = off_target(frame, lag_s);
    let order = order(frame, off);
    let (upper, lower) = room.split_top_bottom_at_fraction(0.6);
    let (line, rest) = lower.split_top_bottom_at_fraction(0.6);
    let number = Line {
        text: length(&frame.air(), off.by_s),
        widest: "+88.8 cm",
        font: digit_font,
        color: later_color(&canvas, off.by_s),
    };
    let instruction = Line {
        text: order.clone(),
        widest: match off.target {
            Target::Zero => "Move second 88.8 cm closer",
            Target::Kept => "Back to the target: second 88.8 cm closer",
        },
        font: text_font,
        color: canvas.palette.foreground,
    };
    let other_units = Line {
        text: other_units(frame, off.by_s),
        widest: "+8.88 ms   +888.8 samples   +88.8 in",
        font: digit_font,
        color: canvas.palette.muted,
    };
    number.fill(&canvas, upper, upper.size());
    instruction.fill(&canvas, line, line.size());
    other_units.fill(&canvas, rest, rest.size() * vec2(0.8, 0.8));
    let text = format!(
        "Last hits: {}. {order}. {}",
        length(&frame.air(), lag_s),
        gap_words(frame)
    );
    describe(ui, room, "digits", Role::Label, &text);
}

fn other_units(frame: &Frame, lag_s: f64) -> String {
    let air = frame.air();
    format!(
        "{} ms   {} samples   {}",
        signed(lag_s * 1000.0, 2),
        signed(air.samples(lag_s), 1),
        other_length(&air, lag_s),
    )
}

/// A line of text as large as its room allows.
struct Line {
    text: String,
    /// The widest text that is usual, so that the digits do not change their size with the gap.
    widest: &'static str,
    font: fn(f32) -> FontId,
    color: Color32,
}

impl Line {
    /// In the middle of `rect`; the widest text fills `room`, and one that is wider still is smaller.
    fn fill(self, canvas: &Canvas, rect: Rect, room: Vec2) {
        let fonts = [self.widest, &self.text].map(|text| fitting(canvas, text, self.font, room));
        let font = (self.font)(fonts[0].size.min(fonts[1].size));
        let at = rect.center();
        canvas.text(at, Align2::CENTER_CENTER, self.text, font, self.color);
    }
}

/// What the stands are guided to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Target {
    /// The overheads together.
    Zero,
    /// The gap that was kept.
    Kept,
}

/// How far the gap is from where it is to be.
#[derive(Clone, Copy, Debug)]
struct OffTarget {
    by_s: f64,
    target: Target,
}

fn off_target(frame: &Frame, lag_s: f64) -> OffTarget {
    let chosen = frame.measurement().chosen();
    match chosen.and_then(|drum| frame.notes.target_s(drum)) {
        Some(target_s) if frame.activation.channels == Channels::Pair => OffTarget {
            by_s: lag_s - target_s,
            target: Target::Kept,
        },
        _ => OffTarget {
            by_s: lag_s,
            target: Target::Zero,
        },
    }
}

/// What to do with the stands.
fn order(frame: &Frame, off: OffTarget) -> String {
    let names = names(frame);
    let later = if off.by_s > 0.0 {
        names.late
    } else {
        names.early
    };
    let far = distance(&frame.air(), off.by_s);
    let sure = frame.lag().is_some_and(|lag| lag.confidence >= FAIRLY_SURE);
    match (frame.activation.channels, off.target) {
        (_, Target::Zero) if frame.air().cm(off.by_s).abs() < TOGETHER_CM => {
            "Together: leave the stands".to_owned()
        }
        (_, Target::Kept) if frame.air().cm(off.by_s).abs() < TOGETHER_CM => {
            "As kept: leave the stands".to_owned()
        }
        (Channels::Pair, _) if !sure => "Not sure yet: play on before a stand is moved".to_owned(),
        (Channels::Pair, Target::Zero) => format!("Move {later} {far} closer"),
        (Channels::Pair, Target::Kept) => format!("Back to the target: {later} {far} closer"),
        (Channels::Mono, _) => format!("The {later} is {far} later"),
    }
}

fn waiting(ui: &mut Ui, room: Rect, frame: &Frame) {
    let size = (room.height() / 9.0).clamp(18.0, 44.0);
    let text = RichText::new(verdict(frame)).font(text_font(size));
    ui.put(room, Label::new(text).wrap());
}

/// What the measurement as a whole says, and what became of the newest hit.
fn last(ui: &Ui, room: Rect, frame: &Frame) {
    let mut text = hits(frame.hits());
    if let Some(lag) = frame.lag() {
        let gap = length(&frame.air(), lag.attack_s);
        text += &format!(" together: {gap}, {}", certainty(lag.confidence));
    }
    text.extend(last_refused(frame).map(|why| format!("; {why}")));
    let at = pos2(room.min.x, room.center().y);
    let color = palette(ui).foreground;
    ui.painter()
        .text(at, Align2::LEFT_CENTER, &text, text_font(16.0), color);
    describe(ui, room, "last", Role::Label, &text);
}
