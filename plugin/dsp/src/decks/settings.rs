//! What decides where the moving deck is: motion, distance, time and the hands.

use super::drag::Hands;
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
    /// A pass is cued when this turns true.
    pub start: bool,
    /// What the hands do in the Drag motion.
    pub hands: Hands,
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
            hands: Hands::Drag(0.0),
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
        let hands = match self.hands {
            Hands::Drag(force) => Hands::Drag(within(force, -1.0, 1.0)),
            Hands::Recue => Hands::Recue,
        };
        Self {
            offset_s: within(self.offset_s, -FARTHEST_S, FARTHEST_S),
            range_s: within(self.range_s, 0.0, FARTHEST_S),
            pace,
            hands,
            wobble: WobbleAmounts {
                wow: within(self.wobble.wow, 0.0, 0.01),
                flutter: within(self.wobble.flutter, 0.0, 0.01),
            },
            ..*self
        }
    }
}

/// `x` between both; what is no number is as near to zero as they allow.
fn within(x: f64, least: f64, most: f64) -> f64 {
    let x = if x.is_finite() { x } else { 0.0 };
    x.clamp(least, most)
}
