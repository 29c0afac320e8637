//! The grid that both pages are laid out on.

use egui::Rect;

/// Room around drawings, points.
pub const MARGIN: f32 = 20.0;
/// Room between drawings, points.
pub const GAP: f32 = 14.0;

/// Side by side, the left one with this part of the width.
pub fn columns(sheet: Rect, part: f32) -> (Rect, Rect) {
    let (mut left, mut right) = sheet.split_left_right_at_fraction(part);
    left.max.x -= GAP / 2.0;
    right.min.x += GAP / 2.0;
    (left, right)
}
