//! The axis of audible frequencies, logarithmic, that a drawing of a response stands on.

use crate::editor::drawing::Canvas;
use crate::editor::frame::AUDIBLE_HZ;
use egui::{Align2, Rect, lerp, pos2};

/// Edges of the scale, Hz.
const LOWEST: f64 = AUDIBLE_HZ.start;
const HIGHEST: f64 = AUDIBLE_HZ.end;
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
/// A drawing narrower than this has room for every third name only, points.
const NARROW: f32 = 300.0;
/// One narrower than this has none for the name before the last, points.
const TIGHT: f32 = 370.0;

/// Where a frequency lies.
pub fn x(room: Rect, hz: f64) -> f32 {
    let part = (hz / LOWEST).ln() / (HIGHEST / LOWEST).ln();
    lerp(room.x_range(), part as f32)
}

/// The frequency that lies there.
pub fn hz_at(room: Rect, x: f32) -> f64 {
    let part = f64::from((x - room.min.x) / room.width());
    LOWEST * (HIGHEST / LOWEST).powf(part)
}

/// Lines across the curves' room, and their names under `foot`.
pub fn frequency_lines(canvas: &Canvas, trace: Rect, foot: f32) {
    for (number, (hz, name)) in MARKS.into_iter().enumerate() {
        let at = x(trace, hz);
        canvas.line(
            pos2(at, trace.min.y),
            pos2(at, trace.max.y),
            0.8,
            canvas.palette.grid,
        );
        let hang = match hz == HIGHEST {
            true => Align2::RIGHT_TOP,
            false => Align2::CENTER_TOP,
        };
        let has_room = match number {
            8 => trace.width() >= TIGHT,
            _ => trace.width() >= NARROW || number % 3 == 0,
        };
        if has_room {
            canvas.tick(pos2(at, foot + 3.0), hang, name);
        }
    }
}
