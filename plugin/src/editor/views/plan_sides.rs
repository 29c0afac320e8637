//! Which way round the kit is drawn: from the stool or from the audience, and mirrored for a left-handed player.

use crate::session::{Handed, Seat, WindowState};
use egui::{Vec2, vec2};

/// Turns a right-handed kit as its player sees it into the one that is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sides {
    factor: Vec2,
}

impl Sides {
    /// As the window was left.
    pub fn of(window: &WindowState) -> Self {
        let mirrored = match window.handed {
            Handed::Right => 1.0,
            Handed::Left => -1.0,
        };
        let factor = match window.seat {
            Seat::Stool => vec2(mirrored, 1.0),
            // From the other side: turned by half a turn.
            Seat::Audience => vec2(-mirrored, -1.0),
        };
        Self { factor }
    }

    /// A direction or a place from the snare, right and down.
    pub fn turn(&self, of_the_player: Vec2) -> Vec2 {
        of_the_player * self.factor
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_left_handed_kit_from_the_audience_has_its_hat_where_a_right_handed_player_sees_it() {
        let hat = vec2(-45.0, -14.0);
        for (seat, handed, right, down) in [
            (Seat::Stool, Handed::Right, -45.0, -14.0),
            (Seat::Stool, Handed::Left, 45.0, -14.0),
            (Seat::Audience, Handed::Right, 45.0, 14.0),
            (Seat::Audience, Handed::Left, -45.0, 14.0),
        ] {
            let window = WindowState {
                seat,
                handed,
                ..WindowState::default()
            };
            let turned = Sides::of(&window).turn(hat);
            assert_eq!(turned, vec2(right, down), "{seat:?} {handed:?}");
        }
    }
}
