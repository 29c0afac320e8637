//! Placement: digits for the one who moves the stands, readable from the drum stool.

use crate::editor::action::Action;
use crate::editor::drawing::{Canvas, describe, digit_font, palette, plain, signed, text_font};
use crate::editor::frame::{Channels, Control, Frame};
use crate::editor::views::later_color;
use crate::editor::widgets::{HEIGHT, Switch, switch};
use crate::editor::wording::{
    TOGETHER_CM, certainty, gap_words, hits, last_refused, names, verdict,
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
    match (frame.newest_lag_s(), frame.lag()) {
        (Some(lag_s), Some(_)) => digits(ui, drawing, frame, lag_s),
        _ => waiting(ui, drawing, frame),
    }
    last(ui, foot.with_min_x(measure.max.x + 16.0), frame);
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
    let cm = frame.air().cm(lag_s);
    let order = order(frame, cm);
    let (upper, lower) = room.split_top_bottom_at_fraction(0.6);
    let (line, rest) = lower.split_top_bottom_at_fraction(0.6);
    let number = Line {
        text: format!("{} cm", signed(cm, 1)),
        widest: "+88.8 cm",
        font: digit_font,
        color: later_color(&canvas, lag_s),
    };
    let instruction = Line {
        text: order.clone(),
        widest: "Move second 88.8 cm closer",
        font: text_font,
        color: canvas.palette.foreground,
    };
    let other_units = Line {
        text: other_units(frame, lag_s),
        widest: "+8.88 ms   +888.8 samples   +88.8 in",
        font: digit_font,
        color: canvas.palette.muted,
    };
    number.fill(&canvas, upper, upper.size());
    instruction.fill(&canvas, line, line.size());
    other_units.fill(&canvas, rest, rest.size() * vec2(0.8, 0.8));
    let text = format!(
        "Last hits: {} cm. {order}. {}",
        signed(cm, 1),
        gap_words(frame)
    );
    describe(ui, room, "digits", Role::Label, &text);
}

fn other_units(frame: &Frame, lag_s: f64) -> String {
    let air = frame.air();
    format!(
        "{} ms   {} samples   {} in",
        signed(lag_s * 1000.0, 2),
        signed(air.samples(lag_s), 1),
        signed(air.inches(lag_s), 1),
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
    /// In the middle of `rect`; the widest text fills `room`.
    fn fill(self, canvas: &Canvas, rect: Rect, room: Vec2) {
        let font = fitting(canvas, self.widest, self.font, room);
        let at = rect.center();
        canvas.text(at, Align2::CENTER_CENTER, self.text, font, self.color);
    }
}

/// What to do with the stands.
fn order(frame: &Frame, cm: f64) -> String {
    let names = names(frame.activation.channels);
    let later = if cm > 0.0 { names.late } else { names.early };
    match frame.activation.channels {
        _ if cm.abs() < TOGETHER_CM => "Together: leave the stands".to_owned(),
        Channels::Pair => format!("Move {later} {} cm closer", plain(cm.abs(), 1)),
        Channels::Mono => format!("The {later} is {} cm later", plain(cm.abs(), 1)),
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
        let cm = frame.air().cm(lag.attack_s);
        text += &format!(
            " together: {} cm, {}",
            signed(cm, 1),
            certainty(lag.confidence)
        );
    }
    text.extend(last_refused(frame).map(|why| format!("; {why}")));
    let at = pos2(room.min.x, room.center().y);
    let color = palette(ui).foreground;
    ui.painter()
        .text(at, Align2::LEFT_CENTER, &text, text_font(16.0), color);
    describe(ui, room, "last", Role::Label, &text);
}
