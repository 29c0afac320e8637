//! Placement: digits for the one who moves the stands, readable from the drum stool.

use crate::editor::action::Action;
use crate::editor::drawing::{Canvas, digit_font, palette, plain, signed, text_font};
use crate::editor::frame::{Channels, Control, Frame};
use crate::editor::views::{gap_words, later_color};
use crate::editor::widgets::{HEIGHT, Switch, switch};
use crate::editor::wording::{TOGETHER_CM, certainty, hits, last_refused, names, verdict};
use egui::{Align2, FontId, Label, Rect, RichText, Role, Sense, Ui, WidgetInfo, pos2, vec2};
use plumbline_dsp::measurement::{Hit, HitOutcome};

const MEASURE: Switch = Switch {
    control: Control::Measure,
    word: "Measure",
    tip: "While on, every hit refines the measurement. Off and on again after a stand has been moved: a new \
          measurement begins.",
};

/// Draws it and follows the hand.
pub fn placement_page(ui: &mut Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
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
fn fitting(canvas: &Canvas, text: &str, font: fn(f32) -> FontId, room: egui::Vec2) -> FontId {
    let probe = 100.0;
    let color = canvas.palette.foreground;
    let galley = canvas
        .painter
        .layout_no_wrap(text.to_owned(), font(probe), color);
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
    match (hit.outcome, frame.activation.channels) {
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
    let canvas = Canvas::new(ui, room.expand(12.0));
    let air = frame.air();
    let cm = air.cm(gap_s);
    let (upper, lower) = room.split_top_bottom_at_fraction(0.6);
    let number = format!("{} cm", signed(cm, 1));
    // As wide as the widest number that is usual, so that the digits do not change their size with the gap.
    let font = fitting(&canvas, "+88.8 cm", digit_font, upper.size());
    canvas.text(
        upper.center(),
        Align2::CENTER_CENTER,
        number,
        font,
        later_color(&canvas, gap_s),
    );
    let order = order(frame, cm);
    let (line, rest) = lower.split_top_bottom_at_fraction(0.6);
    let font = fitting(
        &canvas,
        "Move second 88.8 cm closer",
        text_font,
        line.size(),
    );
    canvas.text(
        line.center(),
        Align2::CENTER_CENTER,
        &order,
        font,
        canvas.palette.foreground,
    );
    let small = format!(
        "{} ms   {} samples   {} in",
        signed(gap_s * 1000.0, 2),
        signed(air.samples(gap_s), 1),
        signed(air.inches(gap_s), 1),
    );
    let font = fitting(
        &canvas,
        "+8.88 ms   +888.8 samples   +88.8 in",
        digit_font,
        rest.size() * vec2(0.8, 0.8),
    );
    canvas.text(
        rest.center(),
        Align2::CENTER_CENTER,
        small,
        font,
        canvas.palette.muted,
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
    let names = names(frame.activation.channels);
    let later = if cm > 0.0 { names.late } else { names.early };
    match frame.activation.channels {
        _ if cm.abs() < TOGETHER_CM => "PairMeters: leave the stands".to_owned(),
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
    ui.interact(room, ui.scope_id().with("last"), Sense::hover())
        .widget_info(|| WidgetInfo::labeled(Role::Label, true, &text));
}
