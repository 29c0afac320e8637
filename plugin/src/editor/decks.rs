//! What a page shows of the two decks: how they are set, where the moving one has been and where it is going.

use super::trail::Trail;
use crate::params::PlumblineParams;
use crate::telemetry::{Deck, Song};
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::preview::{DeckState, Preview};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::meters::comb::{Comb, Copied};

/// Time over which the speed is read, seconds.
const SPEED_OVER_S: f64 = 0.2;

/// One look at the decks.
#[derive(Clone, Copy, Debug, Default)]
pub struct Decks {
    pub course: CourseSettings,
    pub mix: MixSettings,
    pub trail: Trail,
    pub song: Song,
}

impl Decks {
    /// As the knobs stand now.
    pub fn look(params: &PlumblineParams, trail: &Trail, song: Song) -> Self {
        let place = match trail.now() {
            Some(deck) => Transport::Running(deck.position),
            None => Transport::Standing,
        };
        Self {
            course: params.sweep.course(place),
            mix: params.sweep.mix(),
            trail: *trail,
            song,
        }
    }

    /// Where the moving deck is; `None` until the host runs the decks.
    pub fn now(&self) -> Deck {
        self.trail.now()
    }

    /// The course from here on.
    pub fn outlook(&self) -> Preview {
        Preview::new(self.bearings(), &self.course)
    }

    /// Where the moving deck is, or where it would be at the song's start.
    pub fn bearings(&self) -> DeckState {
        self.now().unwrap_or_default()
    }

    /// Moving deck's speed against the fixed one's, a part of one: a deck that gets late is slow.
    pub fn speed_difference(&self) -> f64 {
        let now = self.bearings();
        let since = now.position.seconds - SPEED_OVER_S;
        let points = self.trail.points().iter().rev();
        let before = points.take_while(|point| point.seconds >= since).last();
        let slope = before.and_then(|before| {
            let passed_s = now.position.seconds - before.seconds;
            (passed_s > 0.0).then(|| (before.offset_s - now.offset_s) / passed_s)
        });
        slope.unwrap_or(0.0)
    }

    /// The comb of one channel whose decks are this far apart, and the level of the louder deck, an amplitude.
    pub fn comb(&self, delay_s: f64) -> (Comb, f64) {
        let moving = match self.mix.engage {
            true => self.mix.blend.clamp(0.0, 1.0),
            false => 0.0,
        };
        let fixed = 1.0 - moving;
        let (louder, softer) = (fixed.max(moving), fixed.min(moving));
        let copied = match self.mix.flip {
            true => Copied::Inverted,
            false => Copied::Upright,
        };
        let comb = Comb {
            delay_s,
            level: softer / louder,
            copied,
        };
        (comb, louder)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_comb_is_what_the_decks_add_up_to() {
        // The sum of both decks as the audio has it: fixed + share (side moving - fixed).
        let added = |mix: &MixSettings, hz: f64, delay_s: f64| {
            let turn = std::f64::consts::TAU * hz * delay_s;
            let side = if mix.flip { -1.0 } else { 1.0 };
            let share = if mix.engage { mix.blend } else { 0.0 };
            let (re, im) = (
                1.0 - share + share * side * turn.cos(),
                share * side * turn.sin(),
            );
            re.hypot(im)
        };
        for blend in [0.0, 0.2, 0.5, 0.8, 1.0] {
            for flip in [false, true] {
                for engage in [false, true] {
                    let mix = MixSettings {
                        engage,
                        blend,
                        flip,
                        width: 1.0,
                    };
                    let decks = Decks {
                        mix,
                        ..Decks::default()
                    };
                    for hz in [40.0, 333.0, 1000.0, 9876.0] {
                        let (comb, louder) = decks.comb(0.00066);
                        let got = louder * comb.magnitude(hz);
                        let want = added(&mix, hz, 0.00066);
                        assert!((got - want).abs() < 1e-9, "{mix:?} {hz}: {got} {want}");
                    }
                }
            }
        }
    }
}
