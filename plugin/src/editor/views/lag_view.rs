//! Likeness over lag: the curve, the marks of Attack and Body, and each hit's arrival as a dot.

use crate::editor::drawing::{Canvas, describe, panel, signed, text_font};
use crate::editor::frame::Frame;
use crate::editor::wording::{not_drawn, refused_words};
use egui::{Align2, Color32, Pos2, Rect, Role, Ui, lerp, pos2, vec2};
use plumbline_dsp::measure::lag_curve::{LagCurve, POINTS};

/// Widths of the scale to choose from, to both sides, ms.
const REACHES_MS: [f64; 6] = [0.5, 1.0, 2.0, 3.0, 10.0, 30.0];
/// Height of a row of dots, points.
const ROW: f32 = 13.0;
/// The curve's scale reaches at least this far up and down.
const LEAST_HEIGHT: f32 = 0.3;
/// Rows of dots: the drum that is aligned and the three that are heard most.
const ROWS: usize = 4;

/// The lag scale of one drawing.
struct Scale {
    room: Rect,
    reach_ms: f64,
}

impl Scale {
    fn x(&self, lag_s: f64) -> f32 {
        let part = (lag_s * 1000.0 / self.reach_ms + 1.0) / 2.0;
        lerp(self.room.x_range(), part as f32)
    }

    fn holds(&self, lag_s: f64) -> bool {
        (lag_s * 1000.0).abs() <= self.reach_ms
    }
}

/// Draws the curve and the hits.
pub fn lag_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let inner = panel(ui, rect, "Lag of the hits, ms");
    describe_lag(ui, rect, frame);
    let canvas = Canvas::new(ui, rect.shrink(1.0));
    let rows = rows(frame);
    let dots = ROW * rows.max(1) as f32;
    let scale = Scale {
        room: Rect::from_min_max(
            inner.min + vec2(8.0, 4.0),
            pos2(inner.max.x - 8.0, inner.max.y - 16.0),
        ),
        reach_ms: reach_ms(frame),
    };
    grid(&canvas, &scale);
    let curve_room = Rect::from_min_max(
        scale.room.min + vec2(0.0, 14.0),
        scale.room.max - vec2(0.0, dots + 4.0),
    );
    curve(&canvas, &scale, curve_room, frame);
    hits(&canvas, &scale, frame);
    row_names(&canvas, &scale, frame);
    marks(&canvas, &scale, frame);
    refused(&canvas, rect, frame);
}

fn describe_lag(ui: &Ui, rect: Rect, frame: &Frame) {
    let text = match frame.lag() {
        Some(lag) => format!(
            "Lag of the hits: Attack at {} ms, Body at {} ms",
            signed(lag.attack_s * 1000.0, 3),
            signed(lag.body_s * 1000.0, 3)
        ),
        None => "Lag of the hits: nothing measured yet".to_owned(),
    };
    describe(ui, rect, "lag", Role::Image, &text);
}

/// The narrowest scale that holds the marks with room beside them.
fn reach_ms(frame: &Frame) -> f64 {
    let farthest = frame
        .lag()
        .map_or(0.0, |lag| lag.attack_s.abs().max(lag.body_s.abs()));
    let wanted = 1.2 * farthest * 1000.0;
    let wide = REACHES_MS.into_iter().find(|reach| *reach >= wanted);
    wide.unwrap_or(30.0).max(1.0)
}

fn grid(canvas: &Canvas, scale: &Scale) {
    for part in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let lag_ms = part * scale.reach_ms;
        let x = scale.x(lag_ms / 1000.0);
        let color = if part == 0.0 {
            canvas.palette.outline
        } else {
            canvas.palette.grid
        };
        canvas.line(
            pos2(x, scale.room.min.y),
            pos2(x, scale.room.max.y),
            1.0,
            color,
        );
        let digits = if scale.reach_ms < 2.0 { 1 } else { 0 };
        let digits = if lag_ms.fract() == 0.0 { digits } else { 1 };
        let text = signed(lag_ms, digits);
        let hang = match part {
            -1.0 => Align2::LEFT_TOP,
            1.0 => Align2::RIGHT_TOP,
            _ => Align2::CENTER_TOP,
        };
        canvas.tick(pos2(x, scale.room.max.y + 3.0), hang, text);
    }
}

fn curve(canvas: &Canvas, scale: &Scale, room: Rect, frame: &Frame) {
    let Some(comparison) = &frame.comparison else {
        canvas.placeholder(room, not_drawn(frame));
        return;
    };
    let LagCurve { fronts, body } = &comparison.snapshot.lag_curve;
    let both = || fronts.iter().chain(body).copied();
    let (low, high) = (
        both().fold(-LEAST_HEIGHT, f32::min),
        both().fold(LEAST_HEIGHT, f32::max),
    );
    let y = |value: f32| lerp(room.max.y..=room.min.y, (value - low) / (high - low));
    let [left, right] = [room.min.x, room.max.x].map(|x| pos2(x, y(0.0)));
    canvas.line(left, right, 1.0, canvas.palette.grid);
    let points = |values: &[f32; POINTS]| -> Vec<Pos2> {
        let all = values.iter().enumerate();
        all.filter(|(point, _)| scale.holds(LagCurve::lag_s(*point)))
            .map(|(point, value)| pos2(scale.x(LagCurve::lag_s(point)), y(*value)))
            .collect()
    };
    canvas.curve(points(body), 1.0, canvas.palette.muted);
    canvas.curve(points(fronts), 1.6, canvas.palette.foreground);
}

/// Lines at the Attack and the Body lag, named on the sides that point away from each other.
fn marks(canvas: &Canvas, scale: &Scale, frame: &Frame) {
    let Some(lag) = frame.lag() else {
        return;
    };
    let (top, bottom) = (scale.room.min.y, scale.room.max.y);
    let [attack, body] = [lag.attack_s, lag.body_s].map(|lag_s| scale.x(lag_s));
    let accent = canvas.palette.second;
    let muted = canvas.palette.muted;
    canvas.line(pos2(attack, top), pos2(attack, bottom), 1.2, accent);
    canvas.dashed(pos2(body, top), pos2(body, bottom), 1.0, muted);
    let (attack_hang, body_hang) = match attack <= body {
        true => (Align2::RIGHT_TOP, Align2::LEFT_TOP),
        false => (Align2::LEFT_TOP, Align2::RIGHT_TOP),
    };
    mark_name(canvas, pos2(attack, top), attack_hang, "Attack", accent);
    mark_name(canvas, pos2(body, top), body_hang, "Body", muted);
}

/// A name beside the top of a line.
fn mark_name(canvas: &Canvas, top: Pos2, hang: Align2, name: &str, color: Color32) {
    let aside = if hang == Align2::RIGHT_TOP { -4.0 } else { 4.0 };
    let at = top + vec2(aside, -2.0);
    canvas.text(at, hang, name, text_font(11.5), color);
}

/// How many rows of dots there are.
fn rows(frame: &Frame) -> usize {
    frame.rows().count().min(ROWS)
}

/// Middle of a row of dots; the first one is the lowest.
fn row_y(scale: &Scale, row: usize) -> f32 {
    scale.room.max.y - ROW / 2.0 - ROW * row as f32
}

/// A dot for each hit of the drum that decides, a square for those of the others.
fn hits(canvas: &Canvas, scale: &Scale, frame: &Frame) {
    let total = frame.counted().count();
    for (number, (drum, lag_s)) in frame.counted().enumerate() {
        let Some(row) = frame.rows().position(|row| row.number == drum) else {
            continue;
        };
        if row >= ROWS || !scale.holds(lag_s) {
            continue;
        }
        let age = total - 1 - number;
        let at = pos2(scale.x(lag_s), row_y(scale, row));
        match row {
            0 => dot(canvas, at, age),
            _ => square(canvas, at, age),
        }
    }
}

/// The name of each row's drum, on the side where its dots are not.
fn row_names(canvas: &Canvas, scale: &Scale, frame: &Frame) {
    for (row, drum) in frame.rows().enumerate().take(ROWS) {
        let gap_s = frame.lag_of(drum).map(|gap| gap.attack_s);
        let (x, hang) = match gap_s.is_some_and(|gap_s| gap_s > 0.0) {
            true => (scale.room.min.x, Align2::LEFT_CENTER),
            false => (scale.room.max.x, Align2::RIGHT_CENTER),
        };
        let name = frame.drum_name(drum);
        let text = match gap_s {
            Some(gap_s) => format!("{name} {}", signed(gap_s * 1000.0, 2)),
            None => format!("{name}: no gap known"),
        };
        canvas.note(pos2(x, row_y(scale, row)), hang, text);
    }
}

/// Why hits were not used, in the caption's line.
fn refused(canvas: &Canvas, rect: Rect, frame: &Frame) {
    let refused = frame.measurement().refused;
    if refused.total() > 0 {
        let text = format!("refused: {}", refused_words(&refused));
        let at = rect.right_top() + vec2(-12.0, 11.0);
        canvas.note(at, Align2::RIGHT_TOP, text);
    }
}

/// The newest (age 0) is full, the older ones get thinner.
fn dot(canvas: &Canvas, at: Pos2, age: usize) {
    let color = canvas.palette.foreground;
    if age == 0 {
        canvas.painter.circle_filled(at, 4.0, color);
    } else {
        canvas.circle(at, 3.2, (1.4 - 0.05 * age as f32).max(0.5), color);
    }
}

/// The newest hit (age 0) is full.
fn square(canvas: &Canvas, at: Pos2, age: usize) {
    let square = Rect::from_center_size(at, vec2(5.0, 5.0));
    if age == 0 {
        canvas.fill(square, canvas.palette.muted);
    } else {
        canvas.frame(square, 0.8, canvas.palette.muted);
    }
}
