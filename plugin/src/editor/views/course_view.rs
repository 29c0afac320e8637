//! Offset over time: where the moving deck has been, where it goes, the null line, and the bars of the song.

use super::course_scale::{PAST, Scale};
use super::null_handle::null_handle;
use crate::editor::action::Action;
use crate::editor::drawing::{Canvas, describe, digit_font, panel, signed, text_font};
use crate::editor::frame::{Frame, OffsetPoint};
use crate::editor::widgets::text_width;
use crate::editor::wording::{offset_words, readings};
use egui::{Align2, Pos2, Rect, Role, Shape, Stroke, Ui, pos2, vec2};

/// Points of width for one point of the curve.
const STEP: f32 = 2.0;
const CAPTION: &str = "Offset of the moving deck, ms";
/// Room for the name of a null point, points.
const NAME: f32 = 118.0;

/// Draws it; the ring of a pass may be dragged to another place of the song.
pub fn course_view(ui: &Ui, rect: Rect, frame: &Frame, actions: &mut Vec<Action>) {
    let inner = panel(ui, rect, CAPTION);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(
        inner.min + vec2(32.0, 6.0),
        pos2(inner.max.x - 8.0, inner.max.y - 16.0),
    );
    let scale = Scale::new(room, frame);
    grid(&canvas, &scale);
    bar_lines(&canvas, &scale);
    let past = past(frame, &scale);
    let coming = coming(frame, &scale);
    let next_null = next_null(frame, &coming);
    let readings = readings(frame, next_null);
    describe_course(ui, rect, frame, &readings);
    read_out(ui, &canvas, rect, &readings);
    let color = canvas.palette.second;
    canvas.curve(
        past.iter().map(|point| scale.at(point)).collect(),
        2.0,
        color,
    );
    let dashed: Vec<Pos2> = coming.iter().map(|point| scale.at(point)).collect();
    let stroke = Stroke::new(1.3, color);
    canvas
        .painter
        .extend(Shape::dashed_line(&dashed, stroke, 5.0, 4.0));
    let all: Vec<OffsetPoint> = past.iter().chain(&coming).copied().collect();
    null_points(&canvas, &scale, &all);
    null_handle(ui, &canvas, &scale, frame, next_null, actions);
    now(&canvas, &scale, frame);
}

fn describe_course(ui: &Ui, rect: Rect, frame: &Frame, readings: &[String]) {
    let mut text = format!("Offset of the moving deck: {}", offset_words(frame));
    readings
        .iter()
        .for_each(|reading| text += &format!("; {reading}"));
    describe(ui, rect, "course", Role::Image, &text);
}

/// As many readings in the caption's line as there is room for.
fn read_out(ui: &Ui, canvas: &Canvas, rect: Rect, readings: &[String]) {
    let room = rect.width() - 48.0 - text_width(ui, CAPTION, text_font(12.0));
    let lines = (1..=readings.len()).rev();
    let mut lines = lines.map(|count| readings[..count].join(" · "));
    if let Some(line) = lines.find(|line| text_width(ui, line, digit_font(11.5)) <= room) {
        let at = rect.right_top() + vec2(-12.0, 10.0);
        canvas.text(
            at,
            Align2::RIGHT_TOP,
            line,
            digit_font(11.5),
            canvas.palette.foreground,
        );
    }
}

fn grid(canvas: &Canvas, scale: &Scale) {
    for quarter in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let ms = quarter * scale.reach_ms;
        let y = scale.y(ms / 1000.0);
        let (width, color) = match quarter {
            0.0 => (1.4, canvas.palette.foreground),
            _ => (1.0, canvas.palette.grid),
        };
        let [left, right] = [scale.room.min.x, scale.room.max.x].map(|x| pos2(x, y));
        canvas.line(left, right, width, color);
        let digits = match scale.reach_ms {
            reach if reach < 0.5 => 2,
            reach if reach < 2.0 => {
                if quarter.abs() == 0.5 {
                    2
                } else {
                    1
                }
            }
            _ => 0,
        };
        canvas.tick(
            left - vec2(8.0, 0.0),
            Align2::RIGHT_CENTER,
            signed(ms, digits),
        );
    }
}

fn bar_lines(canvas: &Canvas, scale: &Scale) {
    let bar = scale.now.beats_per_bar;
    let shown = (scale.to - scale.from) / bar;
    let width = f64::from(scale.room.width()) / shown;
    // Every bar has a line; every first, second, fourth, ... a number.
    let mut named = 1;
    while width * (named as f64) < 34.0 {
        named *= 2;
    }
    let first = ((scale.from - scale.now.bar_beats) / bar).ceil();
    for number in 0..=shown.floor() as i64 {
        let beats = scale.now.bar_beats + (first + number as f64) * bar;
        if beats > scale.to {
            break;
        }
        let x = scale.x(beats);
        let line = scale.bar(beats);
        let width = if (line - 1).rem_euclid(4) == 0 {
            1.4
        } else {
            0.8
        };
        let (top, bottom) = (scale.room.min.y, scale.room.max.y);
        canvas.line(pos2(x, top), pos2(x, bottom), width, canvas.palette.grid);
        if (line - 1).rem_euclid(named) == 0 {
            canvas.tick(pos2(x, bottom + 3.0), Align2::CENTER_TOP, line);
        }
    }
}

/// What was seen of it within the drawing.
fn past(frame: &Frame, scale: &Scale) -> Vec<OffsetPoint> {
    let now = frame.decks.now().map(|deck| OffsetPoint {
        beats: deck.position.beats,
        seconds: deck.position.seconds,
        offset_s: deck.offset_s,
    });
    let seen = frame.decks.history.points().iter().copied();
    seen.chain(now)
        .filter(|point| point.beats >= scale.from)
        .collect()
}

/// What is coming, from now to the right edge; nothing where the user decides.
fn coming(frame: &Frame, scale: &Scale) -> Vec<OffsetPoint> {
    let mut outlook = frame.decks.preview();
    let length_s = (scale.to - scale.now.beats) * 60.0 / scale.now.tempo_bpm;
    let count = (scale.room.width() * (1.0 - PAST as f32) / STEP) as usize;
    let point = |number: usize| {
        let later_s = length_s * number as f64 / count as f64;
        let position = scale.now.after(later_s);
        Some(OffsetPoint {
            beats: position.beats,
            seconds: position.seconds,
            offset_s: outlook.offset_s(later_s)?,
        })
    };
    (0..=count).map_while(point).collect()
}

/// The next null point that is known, quarter notes.
fn next_null(frame: &Frame, coming: &[OffsetPoint]) -> Option<f64> {
    let position = frame.decks.deck_state().position;
    let beyond = || {
        let null = frame.decks.null_beats()?;
        (null >= position.beats).then_some(null)
    };
    coming.windows(2).find_map(crossing).or_else(beyond)
}

/// Where the course crosses the null line between two neighbours, quarter notes.
fn crossing(two: &[OffsetPoint]) -> Option<f64> {
    let [before, after] = [two[0].offset_s, two[1].offset_s];
    if before == 0.0 || before.signum() == after.signum() {
        return None;
    }
    let part = before / (before - after);
    Some(two[0].beats + part * (two[1].beats - two[0].beats))
}

/// Rings where the course crosses the null line, with the bar where there is room.
fn null_points(canvas: &Canvas, scale: &Scale, points: &[OffsetPoint]) {
    let mut free_from = f32::MIN;
    for two in points.windows(2) {
        let Some(beats) = crossing(two) else {
            continue;
        };
        let at = pos2(scale.x(beats), scale.y(0.0));
        canvas.ring(at, 4.0, 1.2, canvas.palette.foreground);
        let fits = at.x > free_from && at.x + NAME < scale.room.max.x;
        let clear = at.x > scale.x(scale.now.beats) || at.x + NAME < scale.x(scale.now.beats);
        if fits && clear {
            let text = format!("null point, {}", scale.bar_words(beats));
            // On the side of the null line that the course leaves.
            let rises = two[1].offset_s > two[0].offset_s;
            let left = at + vec2(8.0, if rises { 11.0 } else { -10.0 });
            canvas.boxed_text(
                left,
                Align2::LEFT_CENTER,
                text,
                text_font(12.0),
                canvas.palette.foreground,
            );
            free_from = at.x + NAME;
        }
    }
}

fn now(canvas: &Canvas, scale: &Scale, frame: &Frame) {
    let x = scale.x(scale.now.beats);
    let (top, bottom) = (scale.room.min.y, scale.room.max.y);
    canvas.line(
        pos2(x, top),
        pos2(x, bottom),
        1.2,
        canvas.palette.foreground,
    );
    let deck = frame.decks.deck_state();
    canvas.ring(
        pos2(x, scale.y(deck.offset_s)),
        5.0,
        1.5,
        canvas.palette.second,
    );
    let text = offset_words(frame);
    // On the side of the null line where the deck is not.
    let y = if deck.offset_s > 0.0 {
        bottom - 9.0
    } else {
        top + 9.0
    };
    let at = pos2(x + 8.0, y);
    canvas.boxed_text(
        at,
        Align2::LEFT_CENTER,
        text,
        text_font(12.0),
        canvas.palette.foreground,
    );
}
