//! The machine's response: what the print does to a soft tone, and how much hotter each frequency comes to the tape.

use super::frequency_axis::{frequency_lines, hz_at};
use crate::editor::drawing::{Canvas, describe, panel, plain, text_font};
use egui::{Align2, Color32, Pos2, Rect, Role, Ui, lerp, pos2, vec2};
use plumbline_dsp::print::machine::Machine;

/// Edges of the scale, dB.
const TOP_DB: f64 = 18.0;
const FOOT_DB: f64 = -6.0;
/// From one line to the next, dB.
const STEP_DB: f64 = 6.0;

/// Draws it.
pub fn tape_response_view(ui: &Ui, rect: Rect, machine: &Machine) {
    let inner = panel(ui, rect, "Response, dB");
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(inner.min + vec2(24.0, 4.0), inner.max - vec2(8.0, 14.0));
    describe_response(ui, rect, machine);
    grid(&canvas, room);
    let (print, to_tape) = (canvas.palette.foreground, canvas.palette.first);
    canvas.curve(curve(room, |hz| machine.recording_db(hz)), 1.2, to_tape);
    canvas.curve(curve(room, |hz| machine.response_db(hz)), 1.5, print);
    let right = word(
        &canvas,
        pos2(rect.max.x - 12.0, rect.min.y + 17.0),
        "to tape",
        to_tape,
    );
    word(
        &canvas,
        pos2(right - 10.0, rect.min.y + 17.0),
        "print",
        print,
    );
}

/// A curve's name in its colour; where it begins.
fn word(canvas: &Canvas, at: Pos2, text: &str, color: Color32) -> f32 {
    let font = text_font(12.0);
    let rect = canvas.text(at, Align2::RIGHT_CENTER, text, font, color);
    rect.min.x
}

fn describe_response(ui: &Ui, rect: Rect, machine: &Machine) {
    let db = |hz: f64| plain(machine.response_db(hz), 1);
    let hotter = plain(machine.recording_db(10_000.0), 1);
    let text = format!(
        "Response of the print: {} dB at 50 Hz, {} dB at 100 Hz, {} dB at 10 kHz; 10 kHz comes to the tape {hotter} dB \
         hotter",
        db(50.0),
        db(100.0),
        db(10_000.0),
    );
    describe(ui, rect, "tape response", Role::Image, &text);
}

fn y(room: Rect, db: f64) -> f32 {
    let part = (TOP_DB - db) / (TOP_DB - FOOT_DB);
    lerp(room.y_range(), part.clamp(0.0, 1.0) as f32)
}

fn grid(canvas: &Canvas, room: Rect) {
    let lines = ((TOP_DB - FOOT_DB) / STEP_DB) as usize;
    for line in 0..=lines {
        let db = TOP_DB - STEP_DB * line as f64;
        let at = y(room, db);
        let color = match db == 0.0 {
            true => canvas.palette.outline,
            false => canvas.palette.grid,
        };
        canvas.line(pos2(room.min.x, at), pos2(room.max.x, at), 1.0, color);
        let foot = pos2(room.min.x - 6.0, at);
        canvas.tick(foot, Align2::RIGHT_CENTER, plain(db, 0));
    }
    frequency_lines(canvas, room, room.max.y);
}

/// Two points a column.
fn curve(room: Rect, db: impl Fn(f64) -> f64) -> Vec<Pos2> {
    let points = room.width().max(1.0) as usize / 2;
    let point = |n: usize| {
        let at = lerp(room.x_range(), n as f32 / points as f32);
        pos2(at, y(room, db(hz_at(room, at))))
    };
    (0..=points).map(point).collect()
}
