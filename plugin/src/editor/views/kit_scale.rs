//! The ruler of the kit map: one scale for the gaps of all drums, as recorded and as corrected.

use crate::editor::drawing::{Canvas, signed};
use crate::editor::frame::{Air, KitRow};
use crate::session::Lengths;
use egui::{Align2, Rangef, lerp, pos2};

/// Steps of the ruler to choose from, in the unit that is shown.
const STEPS: [f64; 9] = [0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0];
/// Narrower than this no ruler is, to both sides of what it holds: 1 cm of air, seconds.
const LEAST_S: f64 = 29e-6;

/// A scale of gaps.
pub struct KitScale {
    air: Air,
    from_s: f64,
    to_s: f64,
    x: Rangef,
}

impl KitScale {
    /// Holds the gaps of all drums and zero.
    pub fn new(air: Air, rows: &[KitRow], x: Rangef) -> Self {
        let gaps = rows
            .iter()
            .flat_map(|row| [row.lag.map(|lag| lag.attack_s), row.left_s]);
        let (from_s, to_s) = gaps
            .flatten()
            .fold((0.0, 0.0), |(from, to): (f64, f64), gap| {
                (from.min(gap), to.max(gap))
            });
        let room_s = (0.08 * (to_s - from_s)).max(LEAST_S);
        Self {
            air,
            from_s: from_s - room_s,
            to_s: to_s + room_s,
            x,
        }
    }

    /// Place of a gap, points.
    pub fn x(&self, gap_s: f64) -> f32 {
        let part = (gap_s - self.from_s) / (self.to_s - self.from_s);
        lerp(self.x.min..=self.x.max, part.clamp(0.0, 1.0) as f32)
    }

    /// Lines through all rows, and their figures over them.
    pub fn draw(&self, canvas: &Canvas, rows: Rangef) {
        let unit_s = match self.air.lengths {
            Lengths::Centimetres => 1.0 / self.air.cm(1.0),
            Lengths::Inches => 1.0 / self.air.inches(1.0),
        };
        // A figure every 44 points at most.
        let most = f64::from(((self.x.max - self.x.min) / 44.0).max(1.0));
        let span = (self.to_s - self.from_s) / unit_s;
        let step = STEPS.into_iter().find(|step| span / step <= most);
        let step = step.unwrap_or(500.0);
        let first = (self.from_s / unit_s / step).ceil() as i64;
        let last = (self.to_s / unit_s / step).floor() as i64;
        for number in first..=last {
            let value = number as f64 * step;
            let x = self.x(value * unit_s);
            let color = match number {
                0 => canvas.palette.foreground,
                _ => canvas.palette.grid,
            };
            canvas.line(pos2(x, rows.min), pos2(x, rows.max), 1.0, color);
            let digits = if step < 1.0 { 1 } else { 0 };
            canvas.tick(
                pos2(x, rows.min - 1.0),
                Align2::CENTER_BOTTOM,
                signed(value, digits),
            );
        }
    }
}
