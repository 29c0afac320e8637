//! Placement: digits for the one who moves the stands, readable from the drum stool.

use super::control::{Action, Control};
use super::frame::{Channels, Frame};
use super::ink::{figures, words};
use super::pen::{Pen, inks, plain, signed};
use super::reading::{gap_words, later_ink};
use super::switch::{HEIGHT, Switch, switch};
use super::words::{hits, last_refused, names, sureness, verdict};
use egui::{Align2, FontId, Label, Rect, RichText, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use plumbline_dsp::measurement::{Hit, HitOutcome};

/// The stands are near enough, cm: the sum's first null then lies above 16 kHz.
const TOGETHER_CM: f64 = 1.0;

const MEASURE: Switch = Switch {
    control: Control::Measure,
    word: "Measure",
    tip: "While on, every hit refines the measurement. Off and on again after a stand has been moved: a new \
          measurement begins.",
};

/// Draws it and follows the hand.
pub fn placement(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let room = rect.shrink2(vec2(24.0, 14.0));
    let foot = room.with_min_y(room.max.y - HEIGHT);
    let measure = Rect::from_min_size(foot.min, vec2(110.0, HEIGHT));
    switch(ui, measure, &MEASURE, &frame.knobs, actions);
    let sheet = room.with_max_y(foot.min.y - 10.0);
    match (newest_s(frame), frame.lag()) {
        (Some(gap_s), Some(_)) => digits(ui, sheet, frame, gap_s),
        _ => waiting(ui, sheet, frame),
    }
    last(ui, foot.with_min_x(measure.max.x + 16.0), frame);
}

/// Lettering that fills a width, but not more than a height.
fn fitting(pen: &Pen, text: &str, font: fn(f32) -> FontId, room: egui::Vec2) -> FontId {
    let probe = 100.0;
    let ink = pen.inks.ink;
    let galley = pen
        .painter
        .layout_no_wrap(text.to_owned(), font(probe), ink);
    let by_width = probe * room.x / galley.size().x.max(1.0);
    let by_height = probe * room.y / galley.size().y.max(1.0);
    font(by_width.min(by_height))
}

/// The gap as the newest hits say it, seconds: the middle one of the last three, so that a moved stand shows at once
/// and one odd stroke does not. The measurement itself where no hit is in the log.
pub fn newest_s(frame: &Frame) -> Option<f64> {
    let own = frame
        .report
        .log
        .iter()
        .flatten()
        .rev()
        .filter_map(|hit| own_s(frame, hit));
    let mut last: Vec<f64> = own.take(3).collect();
    last.sort_by(f64::total_cmp);
    let middle = last.get(last.len() / 2).copied();
    middle.or(frame.lag().map(|lag| lag.attack_s))
}

/// What a hit of the spot's own drum says by itself, seconds.
fn own_s(frame: &Frame, hit: &Hit) -> Option<f64> {
    match (hit.outcome, frame.session.channels) {
        (
            HitOutcome::Counted {
                voice: 0, gap_s, ..
            },
            Channels::Pair,
        ) => Some(gap_s),
        (
            HitOutcome::Counted {
                voice: 0,
                spot_to_first_s,
                ..
            },
            Channels::Mono,
        ) => Some(spot_to_first_s),
        _ => None,
    }
}

fn digits(ui: &Ui, room: Rect, frame: &Frame, gap_s: f64) {
    let pen = Pen::new(ui, room.expand(12.0));
    let air = frame.air();
    let cm = air.cm(gap_s);
    let (upper, lower) = room.split_top_bottom_at_fraction(0.6);
    let number = format!("{} cm", signed(cm, 1));
    // As wide as the widest number that is usual, so that the digits do not change their size with the gap.
    let font = fitting(&pen, "+88.8 cm", figures, upper.size());
    pen.text(
        upper.center(),
        Align2::CENTER_CENTER,
        number,
        font,
        later_ink(&pen, gap_s),
    );
    let order = order(frame, cm);
    let (line, rest) = lower.split_top_bottom_at_fraction(0.6);
    let font = fitting(&pen, "Move second 88.8 cm closer", words, line.size());
    pen.text(
        line.center(),
        Align2::CENTER_CENTER,
        &order,
        font,
        pen.inks.ink,
    );
    let small = format!(
        "{} ms   {} samples   {} in",
        signed(gap_s * 1000.0, 2),
        signed(air.samples(gap_s), 1),
        signed(air.inches(gap_s), 1),
    );
    let font = fitting(
        &pen,
        "+8.88 ms   +888.8 samples   +88.8 in",
        figures,
        rest.size() * vec2(0.8, 0.8),
    );
    pen.text(
        rest.center(),
        Align2::CENTER_CENTER,
        small,
        font,
        pen.inks.soft,
    );
    let text = format!(
        "Last hits: {} cm. {order}. {}",
        signed(cm, 1),
        gap_words(frame)
    );
    ui.interact(room, ui.scope_id().with("digits"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
}

/// What to do with the stands.
fn order(frame: &Frame, cm: f64) -> String {
    let names = names(frame.session.channels);
    let later = if cm > 0.0 { names.late } else { names.early };
    match frame.session.channels {
        _ if cm.abs() < TOGETHER_CM => "Together: leave the stands".to_owned(),
        Channels::Pair => format!("Move {later} {} cm closer", plain(cm.abs(), 1)),
        Channels::Mono => format!("The {later} is {} cm later", plain(cm.abs(), 1)),
    }
}

fn waiting(ui: &mut Ui, room: Rect, frame: &Frame) {
    let size = (room.height() / 9.0).clamp(18.0, 44.0);
    let text = RichText::new(verdict(frame)).font(words(size));
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
            sureness(lag.confidence)
        );
    }
    text.extend(last_refused(frame).map(|why| format!("; {why}")));
    let at = pos2(room.min.x, room.center().y);
    let ink = inks(ui).ink;
    ui.painter()
        .text(at, Align2::LEFT_CENTER, &text, words(16.0), ink);
    ui.interact(room, ui.scope_id().with("last"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
}
