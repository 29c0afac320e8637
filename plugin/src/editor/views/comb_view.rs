//! The comb as it is now: what the sum of both decks lets through at each frequency, its notches named.

use super::frequency_axis::{frequency_lines, hz_at, x};
use crate::editor::drawing::{Canvas, describe, digit_font, panel, plain, short_hertz, text_font};
use crate::editor::frame::{Channels, DeckComb, Decks, Frame};
use egui::{Align2, Color32, Pos2, Rect, Role, Ui, lerp, pos2, vec2};

/// Foot of the scale, dB.
const DEPTH_DB: f64 = -36.0;
/// One channel's comb.
struct Curve {
    name: &'static str,
    comb: DeckComb,
    color: Color32,
    line: Line,
}

/// How a curve is drawn, so that two are told apart without their colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Line {
    Full,
    Dashed,
}

/// Draws it.
pub fn comb_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, "Comb now, dB");
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(
        inner.min + vec2(32.0, 4.0),
        pos2(inner.max.x - 8.0, inner.max.y - 16.0),
    );
    grid(&canvas, room);
    let curves = curves(&canvas, frame);
    describe_nulls(ui, rect, &curves);
    let trace = Rect::from_min_max(room.min, room.max - vec2(0.0, 18.0));
    for curve in &curves {
        let points = points(trace, curve);
        match curve.line {
            Line::Full => canvas.curve(points, 1.5, curve.color),
            Line::Dashed => canvas.dashed_curve(&points, 1.5, curve.color),
        }
    }
    names(&canvas, room, &curves[0]);
    legend(&canvas, rect, &curves);
}

/// The first channel last, so that it lies on top; one curve where both channels are alike.
fn curves(canvas: &Canvas, frame: &Frame) -> Vec<Curve> {
    let decks: &Decks = &frame.decks;
    let offset_s = decks.deck_state().offset_s;
    let curve = |name, part: f64, color, line| {
        let comb = decks.comb(part * offset_s);
        Curve {
            name,
            comb,
            color,
            line,
        }
    };
    let alike = frame.activation.channels == Channels::Mono || decks.mix.width.abs() == 1.0;
    match alike {
        true => vec![curve("both", 1.0, canvas.palette.foreground, Line::Full)],
        false => vec![
            curve("first (full)", 1.0, canvas.palette.first, Line::Full),
            curve(
                "second (dashed)",
                decks.mix.width,
                canvas.palette.second,
                Line::Dashed,
            ),
        ],
    }
}

fn describe_nulls(ui: &Ui, rect: Rect, curves: &[Curve]) {
    let text = |curve: &Curve| {
        let notches: Vec<String> = curve.comb.notches().take(3).map(short_hertz).collect();
        match notches.is_empty() {
            true => "no notches".to_owned(),
            false => format!("notches at {}", notches.join(", ")),
        }
    };
    let texts: Vec<String> = match curves {
        [one] => vec![text(one)],
        _ => curves
            .iter()
            .map(|c| format!("{} {}", c.name, text(c)))
            .collect(),
    };
    let text = format!("Comb now: {}", texts.join("; "));
    describe(ui, rect, "comb", Role::Image, &text);
}

fn y(room: Rect, db: f64) -> f32 {
    lerp(room.y_range(), (db / DEPTH_DB).clamp(0.0, 1.0) as f32)
}

fn grid(canvas: &Canvas, room: Rect) {
    let trace = Rect::from_min_max(room.min, room.max - vec2(0.0, 18.0));
    for third in 0..=3 {
        let db = DEPTH_DB * f64::from(third) / 3.0;
        let at = y(trace, db);
        canvas.line(
            pos2(room.min.x, at),
            pos2(room.max.x, at),
            1.0,
            canvas.palette.grid,
        );
        canvas.tick(
            pos2(room.min.x - 8.0, at),
            Align2::RIGHT_CENTER,
            plain(db, 0),
        );
    }
    frequency_lines(canvas, trace, room.max.y);
}

/// One point a column, and the notch and the peak that lie inside a column: none is missed however close they come.
fn points(room: Rect, curve: &Curve) -> Vec<Pos2> {
    let columns = room.width().max(1.0) as usize;
    let delay_s = curve.comb.comb.delay_s.abs();
    let half_turns = |hz: f64| 2.0 * hz * delay_s;
    let mut points = Vec::with_capacity(3 * columns);
    let mut last = 0.0;
    for column in 0..=columns {
        let at = room.min.x + room.width() * column as f32 / columns as f32;
        let hz = hz_at(room, at);
        // Peaks and notches take turns, half a turn apart; where they begin does not matter here.
        let here = half_turns(hz);
        if column > 0 && here.floor() > f64::floor(last) {
            let turn_hz = here.floor() / 2.0 / delay_s;
            points.push(pos2(x(room, turn_hz), y(room, curve.comb.db(turn_hz))));
            if here - last > 1.0 {
                let before_hz = turn_hz - 0.5 / delay_s;
                points.push(pos2(x(room, turn_hz), y(room, curve.comb.db(before_hz))));
            }
        }
        points.push(pos2(at, y(room, curve.comb.db(hz))));
        last = here;
    }
    points
}

/// Names under the first notches, as many as there is room for.
fn names(canvas: &Canvas, room: Rect, curve: &Curve) {
    for (at, text) in named(room, curve.comb.notches()) {
        let middle = pos2(at, room.max.y - 8.0);
        let color = canvas.palette.second;
        canvas.boxed_text(middle, Align2::CENTER_CENTER, text, digit_font(11.5), color);
    }
}

/// Where a name fits, from the lowest notch on. One left out between two named ones would look as if it were not there: the
/// first one without room ends them.
fn named(room: Rect, notches_hz: impl Iterator<Item = f64>) -> Vec<(f32, String)> {
    let mut free_from = room.min.x - 20.0;
    let placed = notches_hz.map_while(|hz| {
        let text = short_hertz(hz);
        let at = x(room, hz);
        let half = 4.0 * text.chars().count() as f32;
        let fits = at - half >= free_from && at + half <= room.max.x;
        free_from = at + half + 6.0;
        fits.then_some((at, text))
    });
    placed.collect()
}

/// Which curve is whose, where there are two.
fn legend(canvas: &Canvas, rect: Rect, curves: &[Curve]) {
    if curves.len() < 2 {
        return;
    }
    let mut right = rect.max.x - 12.0;
    for curve in curves.iter().rev() {
        let at = pos2(right, rect.min.y + 17.0);
        right = canvas
            .text(
                at,
                Align2::RIGHT_CENTER,
                curve.name,
                text_font(12.0),
                curve.color,
            )
            .min
            .x
            - 12.0;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_notch_is_left_out_between_two_that_are_named() {
        let notches = [610.0, 1830.0, 3050.0, 4270.0, 5490.0, 6710.0];
        for width in [120.0, 250.0, 400.0, 900.0] {
            let room = Rect::from_min_size(pos2(0.0, 0.0), vec2(width, 100.0));
            let names = named(room, notches.into_iter());
            let all = notches.map(short_hertz);
            for (place, (_, name)) in names.iter().enumerate() {
                assert_eq!(*name, all[place], "{width} points wide: {names:?}");
            }
        }
    }
}
