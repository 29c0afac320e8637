//! What decides where the moving deck is: motion, distance, time and the drag.

use super::drag::DragControl;
use super::motion::{Curve, Motion, Pace};
use super::wobble::WobbleAmounts;

/// Farthest that the moving deck leads or follows, seconds.
pub const FARTHEST_S: f64 = 0.012;
/// The settings that decide where the moving deck is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseSettings {
    /// What moves it.
    pub motion: Motion,
    /// Hand: where it is. Else the centre of the travel. Seconds, moving deck minus fixed deck.
    pub offset_s: f64,
    /// Greatest distance from the centre, seconds.
    pub range_s: f64,
    /// How long a cycle or a pass takes.
    pub pace: Pace,
    /// Shape of a cycle or a pass.
    pub curve: Curve,
    /// A pass is cued when this turns true; not heard while `null_at` says where it is.
    pub start: bool,
    /// Pass: the place of its null point, bars, the song's first one being 1; `None`: the cue decides.
    pub null_at: Option<f64>,
    /// Pass: over this length the comb comes in and goes out, bars; 0: it stands at both ends.
    pub ease_bars: f64,
    /// What the drag do in the Drag motion.
    pub drag: DragControl,
    /// Wow and flutter of the moving deck.
    pub wobble: WobbleAmounts,
}

impl Default for CourseSettings {
    /// By hand, at the null point.
    fn default() -> Self {
        Self {
            motion: Motion::Hand,
            offset_s: 0.0,
            range_s: 0.003,
            pace: Pace::Beats(16.0),
            curve: Curve::Sine,
            start: false,
            null_at: None,
            ease_bars: 0.0,
            drag: DragControl::Brake(0.0),
            wobble: WobbleAmounts::default(),
        }
    }
}

impl CourseSettings {
    /// The nearest settings that the mathematics can use.
    pub fn sane(&self) -> Self {
        let pace = match self.pace {
            Pace::Beats(beats) => Pace::Beats(within(beats, 1.0 / 64.0, 4096.0)),
            Pace::Hertz(hz) => Pace::Hertz(within(hz, 0.0, 100.0)),
        };
        let drag = match self.drag {
            DragControl::Brake(force) => DragControl::Brake(within(force, -1.0, 1.0)),
            DragControl::Recue => DragControl::Recue,
        };
        Self {
            offset_s: within(self.offset_s, -FARTHEST_S, FARTHEST_S),
            range_s: within(self.range_s, 0.0, FARTHEST_S),
            null_at: self.null_at.map(|bar| within(bar, 1.0, 9999.0)),
            ease_bars: within(self.ease_bars, 0.0, 16.0),
            pace,
            drag,
            wobble: WobbleAmounts {
                wow: within(self.wobble.wow, 0.0, 0.01),
                flutter: within(self.wobble.flutter, 0.0, 0.01),
            },
            ..*self
        }
    }
}

/// `x` between both; what is no number is as near to zero as they allow.
pub(super) fn within(x: f64, least: f64, most: f64) -> f64 {
    let x = if x.is_finite() { x } else { 0.0 };
    x.clamp(least, most)
}
