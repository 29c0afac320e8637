//! Two scales from -1 to 1: the correlation of the hits before and after the correction.

use crate::editor::drawing::{Canvas, signed};
use crate::editor::frame::Frame;
use egui::{Align2, Color32, Rect, lerp, pos2};

/// Room for the words on both sides of a scale, points.
const SIDE: f32 = 56.0;

/// Draws a caption and both scales on three lines, whose middles are given.
pub fn correlation_scales(
    canvas: &Canvas,
    rect: Rect,
    [caption, before, after]: [f32; 3],
    frame: &Frame,
) {
    let left = |y: f32| pos2(rect.min.x, y);
    let text = "Correlation of the hits, 100 Hz to 5 kHz";
    canvas.caption(left(caption), Align2::LEFT_CENTER, text);
    let Some(comparison) = &frame.comparison else {
        let text = "comes back with the next hits that are measured";
        canvas.caption(left(before), Align2::LEFT_CENTER, text);
        return;
    };
    let palette = canvas.palette;
    let values = [comparison.before, comparison.after].map(|side| side.correlation);
    for (y, name, value, color) in [
        (before, "before", values[0], palette.second),
        (after, "after", values[1], palette.first),
    ] {
        canvas.caption(left(y), Align2::LEFT_CENTER, name);
        let right = pos2(rect.max.x, y);
        canvas.value(right, Align2::RIGHT_CENTER, signed(value, 2));
        scale(canvas, rect, y, value, color);
    }
    for (value, part) in [(-1.0, 0.0), (0.0, 0.5), (1.0, 1.0)] {
        let x = lerp(rect.min.x + SIDE..=rect.max.x - SIDE, part);
        let at = pos2(x, after + 12.0);
        canvas.tick(at, Align2::CENTER_CENTER, signed(value, 0));
    }
}

fn scale(canvas: &Canvas, rect: Rect, middle: f32, value: f64, color: Color32) {
    let x_range = rect.x_range().shrink(SIDE);
    let y = middle + 3.0;
    let outline = canvas.palette.outline;
    canvas.line(pos2(x_range.min, y), pos2(x_range.max, y), 1.0, outline);
    for quarter in 0..=4 {
        let x = lerp(x_range, quarter as f32 / 4.0);
        canvas.line(pos2(x, y - 3.0), pos2(x, y + 3.0), 1.0, outline);
    }
    let part = ((value + 1.0) / 2.0) as f32;
    canvas.pointer(pos2(lerp(x_range, part), y), color);
}
