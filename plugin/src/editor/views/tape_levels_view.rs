//! How hot the take comes to the tape: its levels under the third harmonic that each of them is played back with.

use crate::editor::drawing::{Canvas, describe, panel, plain, signed};
use crate::editor::frame::{Control, Frame, Tape};
use crate::editor::wording::{tape_reference, tape_shares};
use egui::{Align2, Pos2, Rect, Role, Ui, lerp, pos2, vec2};
use plumbline_dsp::print::machine::Machine;
use plumbline_dsp::print::third_harmonic::LINES;
use std::ops::RangeInclusive;

/// Levels on the scale, dB over the reference.
const LEVELS_DB: RangeInclusive<f64> = -20.0..=20.0;
/// Third harmonic at the foot and at the top of the scale, as parts of the fundamental.
const THIRDS: RangeInclusive<f64> = 0.000_3..=0.1;
/// The line up to which tape is driven with care: DIN 45500's maximum output level.
const MOST: f64 = LINES[LINES.len() - 1];
/// Lines across, with their names. The 3 % line is drawn for itself.
const MARKS: [(f64, &str); 4] = [
    (0.1, "10 %"),
    (LINES[1], "1 %"),
    (LINES[0], "0.3 %"),
    (0.000_3, "0.03 %"),
];
/// Width of a bar, dB.
const BAR_DB: f64 = 1.0;
/// The highest bar takes this part of the height.
const HIGHEST_BAR: f32 = 0.42;

/// Draws it. `machine` is the one of the frame's tape.
pub fn tape_levels_view(ui: &Ui, rect: Rect, frame: &Frame, machine: &Machine) {
    let fluxivity = plain(frame.tape.settings.lineup.fluxivity_nwb_m, 0);
    let caption = format!("Print: third harmonic by level, dB over {fluxivity} nWb/m");
    let inner = panel(ui, rect, &caption);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let room = Rect::from_min_max(inner.min + vec2(40.0, 4.0), inner.max - vec2(8.0, 34.0));
    let words = words(frame);
    describe(ui, rect, "tape levels", Role::Image, &words);
    grid(&canvas, room);
    bars(&canvas, room, &frame.tape, machine);
    canvas.curve(
        curve(room, &frame.tape, machine),
        1.5,
        canvas.palette.foreground,
    );
    let foot = pos2(rect.min.x + 12.0, rect.max.y - 12.0);
    canvas.caption(foot, Align2::LEFT_CENTER, words);
}

/// What the drawing says.
fn words(frame: &Frame) -> String {
    match (frame.knobs.is_on(Control::Print), frame.tape.shares()) {
        (false, _) => format!("print is off; {}", tape_reference(&frame.tape.settings)),
        (true, None) => tape_reference(&frame.tape.settings),
        (true, Some(shares)) => tape_shares(shares),
    }
}

fn x(room: Rect, db: f64) -> f32 {
    let part = (db - LEVELS_DB.start()) / (LEVELS_DB.end() - LEVELS_DB.start());
    lerp(room.x_range(), part.clamp(0.0, 1.0) as f32)
}

fn y(room: Rect, third: f64) -> f32 {
    let part = (third / THIRDS.start()).ln() / (THIRDS.end() / THIRDS.start()).ln();
    lerp(room.max.y..=room.min.y, part.clamp(0.0, 1.0) as f32)
}

fn grid(canvas: &Canvas, room: Rect) {
    let across = |third: f64| {
        [
            pos2(room.min.x, y(room, third)),
            pos2(room.max.x, y(room, third)),
        ]
    };
    for (third, name) in MARKS {
        let [from, to] = across(third);
        canvas.line(from, to, 1.0, canvas.palette.grid);
        canvas.tick(from - vec2(6.0, 0.0), Align2::RIGHT_CENTER, name);
    }
    let [from, to] = across(MOST);
    canvas.dashed(from, to, 1.0, canvas.palette.second);
    canvas.tick(from - vec2(6.0, 0.0), Align2::RIGHT_CENTER, "3 %");
    for tenth in -2..=2 {
        let db = 10.0 * f64::from(tenth);
        let color = match tenth {
            0 => canvas.palette.foreground,
            _ => canvas.palette.grid,
        };
        let at = x(room, db);
        canvas.line(pos2(at, room.min.y), pos2(at, room.max.y), 1.0, color);
        let text = signed(db, 0);
        let hang = match tenth {
            2 => Align2::RIGHT_TOP,
            _ => Align2::CENTER_TOP,
        };
        canvas.tick(pos2(at, room.max.y + 3.0), hang, text);
    }
}

/// Levels a decibel apart.
fn levels_db() -> impl Iterator<Item = f64> {
    let count = ((LEVELS_DB.end() - LEVELS_DB.start()) / BAR_DB) as usize;
    (0..=count).map(|n| LEVELS_DB.start() + BAR_DB * n as f64)
}

/// The third harmonic of each level, from where it comes up to the foot of the scale to where it leaves it.
fn curve(room: Rect, tape: &Tape, machine: &Machine) -> Vec<Pos2> {
    let points = levels_db().map(|db| (db, tape.third(machine, db)));
    points
        .skip_while(|(_, third)| third < THIRDS.start())
        .take_while(|(_, third)| third <= THIRDS.end())
        .map(|(db, third)| pos2(x(room, db), y(room, third)))
        .collect()
}

/// How much of the take lies at each level; what is over the 3 % line stands out.
fn bars(canvas: &Canvas, room: Rect, tape: &Tape, machine: &Machine) {
    let shares: Vec<(f64, f64)> = levels_db()
        .take_while(|db| db < LEVELS_DB.end())
        .map(|db| (db, tape.share(db, db + BAR_DB)))
        .collect();
    let most = shares.iter().fold(0.0, |most, (_, share)| share.max(most));
    for (db, share) in shares.into_iter().filter(|(_, share)| *share > 0.0) {
        let height = (share / most) as f32 * HIGHEST_BAR * room.height();
        let bar = Rect::from_min_max(
            pos2(x(room, db) + 0.5, room.max.y - height.max(1.0)),
            pos2(x(room, db + BAR_DB) - 0.5, room.max.y),
        );
        let over = tape.third(machine, db + BAR_DB / 2.0) > MOST;
        let color = match over {
            true => canvas.palette.second,
            false => canvas.palette.first,
        };
        canvas.fill(bar, color);
    }
}
