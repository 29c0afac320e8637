//! The print: the take's levels against the third harmonic, and the machine's response.

use super::tape_levels_view::tape_levels_view;
use super::tape_response_view::tape_response_view;
use crate::editor::frame::Frame;
use egui::{Rect, Ui};

/// Room between both drawings, points.
const GAP: f32 = 14.0;

/// Draws both side by side.
pub fn print_view(ui: &Ui, rect: Rect, frame: &Frame) {
    let machine = frame.tape.machine();
    let (mut levels, mut response) = rect.split_left_right_at_fraction(0.57);
    levels.max.x -= GAP / 2.0;
    response.min.x += GAP / 2.0;
    tape_levels_view(ui, levels, frame, &machine);
    tape_response_view(ui, response, &machine);
}
