//! The comb as it is now: what the sum of both decks lets through at each frequency, its nulls named.

use crate::editor::drawing::{Canvas, digit_font, panel, plain, text_font};
use crate::editor::frame::{AUDIBLE_HZ, Channels, DeckComb, Decks, Frame};
use egui::{Align2, Color32, Pos2, Rect, Role, Sense, Ui, WidgetInfo, lerp, pos2, vec2};

/// Edges of the scale, Hz.
const LOWEST: f64 = AUDIBLE_HZ.start;
const HIGHEST: f64 = AUDIBLE_HZ.end;
/// Foot of the scale, dB.
const DEPTH_DB: f64 = -36.0;
/// Lines across, with their names.
const MARKS: [(f64, &str); 10] = [
    (20.0, "20"),
    (50.0, "50"),
    (100.0, "100"),
    (200.0, "200"),
    (500.0, "500"),
    (1000.0, "1k"),
    (2000.0, "2k"),
    (5000.0, "5k"),
    (10_000.0, "10k"),
    (20_000.0, "20k"),
];
/// One channel's comb.
struct Curve {
    name: &'static str,
    comb: DeckComb,
    color: Color32,
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
    describe(ui, rect, &curves);
    let trace = Rect::from_min_max(room.min, room.max - vec2(0.0, 18.0));
    for curve in &curves {
        canvas.curve(points(trace, curve), 1.5, curve.color);
    }
    names(&canvas, room, &curves[0]);
    legend(&canvas, rect, &curves);
}

/// The first channel last, so that it lies on top; one curve where both channels are alike.
fn curves(canvas: &Canvas, frame: &Frame) -> Vec<Curve> {
    let decks: &Decks = &frame.decks;
    let offset_s = decks.bearings().offset_s;
    let curve = |name, part: f64, color| {
        let comb = decks.comb(part * offset_s);
        Curve { name, comb, color }
    };
    let alike = frame.activation.channels == Channels::Mono || decks.mix.width.abs() == 1.0;
    match alike {
        true => vec![curve("both", 1.0, canvas.palette.foreground)],
        false => vec![
            curve("first", 1.0, canvas.palette.first),
            curve("second", decks.mix.width, canvas.palette.second),
        ],
    }
}

fn describe(ui: &Ui, rect: Rect, curves: &[Curve]) {
    let text = |curve: &Curve| {
        let nulls: Vec<String> = curve.comb.nulls().take(3).map(hertz).collect();
        match nulls.is_empty() {
            true => "no nulls".to_owned(),
            false => format!("nulls at {}", nulls.join(", ")),
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
    let response = ui.interact(rect, ui.scope_id().with("comb"), Sense::hover());
    response.widget_info(|| WidgetInfo::labeled(Role::Image, true, &text));
}

fn x(room: Rect, hz: f64) -> f32 {
    let part = (hz / LOWEST).ln() / (HIGHEST / LOWEST).ln();
    lerp(room.x_range(), part as f32)
}

fn hz_at(room: Rect, x: f32) -> f64 {
    let part = f64::from((x - room.min.x) / room.width());
    LOWEST * (HIGHEST / LOWEST).powf(part)
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
    for (hz, name) in MARKS {
        let at = x(room, hz);
        canvas.line(
            pos2(at, trace.min.y),
            pos2(at, trace.max.y),
            0.8,
            canvas.palette.grid,
        );
        let hang = if hz == HIGHEST {
            Align2::RIGHT_TOP
        } else {
            Align2::CENTER_TOP
        };
        canvas.tick(pos2(at, room.max.y + 3.0), hang, name);
    }
}

/// One point a column, and the null and the peak that lie inside a column: none is missed however close they come.
fn points(room: Rect, curve: &Curve) -> Vec<Pos2> {
    let columns = room.width().max(1.0) as usize;
    let delay_s = curve.comb.comb.delay_s.abs();
    let half_turns = |hz: f64| 2.0 * hz * delay_s;
    let mut points = Vec::with_capacity(3 * columns);
    let mut last = 0.0;
    for column in 0..=columns {
        let at = room.min.x + room.width() * column as f32 / columns as f32;
        let hz = hz_at(room, at);
        // Peaks and nulls take turns, half a turn apart; where they begin does not matter here.
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

/// Names under the first nulls, as many as there is room for.
fn names(canvas: &Canvas, room: Rect, curve: &Curve) {
    let mut free_from = room.min.x - 20.0;
    for hz in curve.comb.nulls() {
        let at = x(room, hz);
        let text = hertz(hz);
        let half = 4.0 * text.chars().count() as f32;
        if at - half < free_from || at + half > room.max.x {
            continue;
        }
        let place = pos2(at, room.max.y - 8.0);
        canvas.boxed_text(
            place,
            Align2::CENTER_CENTER,
            text,
            digit_font(11.5),
            canvas.palette.second,
        );
        free_from = at + half + 6.0;
    }
}

/// "760 Hz" is "760", "2270 Hz" is "2.27k".
fn hertz(hz: f64) -> String {
    match hz {
        hz if hz < 1000.0 => plain(hz, 0),
        hz if hz < 10_000.0 => format!("{}k", plain(hz / 1000.0, 2)),
        hz => format!("{}k", plain(hz / 1000.0, 1)),
    }
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
    fn names_of_nulls() {
        assert_eq!(hertz(757.6), "758");
        assert_eq!(hertz(2272.7), "2.27k");
        assert_eq!(hertz(12_345.0), "12.3k");
    }
}
