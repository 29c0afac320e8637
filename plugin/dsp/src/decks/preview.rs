//! A preview of the offset: the course ahead, from the settings and the song position as they are now.

use super::motion::{Cue, Motion, cycles};
use super::pass::Pass;
use super::settings::{CourseSettings, FARTHEST_S};
use super::song_position::SongPosition;
use crate::decks::drag::DragControl;
use crate::decks::wobble::Wobble;

/// State of the moving deck in the last sample that came out.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct DeckState {
    /// Song position of that sample.
    pub position: SongPosition,
    /// Moving deck minus fixed deck there, seconds.
    pub offset_s: f64,
    /// The pass that was cued last.
    pub cue: Option<Cue>,
    /// Cycles added to those since the song's start, because a free rate was changed while it ran.
    pub added_cycles: f64,
}

/// The course ahead, as long as no parameter changes.
#[derive(Clone, Debug)]
pub struct Preview {
    deck_state: DeckState,
    settings: CourseSettings,
    wobble: Wobble,
}

impl Preview {
    /// From the deck's state on.
    pub fn new(deck_state: DeckState, settings: &CourseSettings) -> Self {
        Self {
            deck_state,
            settings: settings.sane(),
            wobble: Wobble::new(),
        }
    }

    /// The offset `later_s` seconds from now, or before now as if nothing had changed; `None` while a deck is braked by hand.
    pub fn offset_s(&mut self, later_s: f64) -> Option<f64> {
        let position = self.deck_state.position.after(later_s);
        let offset_s = self.steady_s(&position)?.clamp(-FARTHEST_S, FARTHEST_S);
        Some(offset_s + self.wobble.offset_s(position.seconds, self.settings.wobble))
    }

    /// How far the pass is now: 0 to 1 while it runs.
    pub fn pass_progress(&self) -> f64 {
        self.pass(&self.deck_state.position).1
    }

    /// How much of the comb is heard now, 0 to 1.
    pub fn depth(&self) -> f64 {
        let position = &self.deck_state.position;
        match self.settings.motion {
            Motion::Pass => {
                let (pass, progress) = self.pass(position);
                pass.depth(progress, position)
            }
            Motion::Hand | Motion::Cycle | Motion::Drag => 1.0,
        }
    }

    /// The pass, and how far it is at a place of the song.
    fn pass(&self, position: &SongPosition) -> (Pass, f64) {
        let settings = &self.settings;
        let pass = Pass::new(settings, self.deck_state.cue, position);
        let distances = (settings.offset_s, settings.range_s);
        (pass, pass.progress(position, distances))
    }

    /// Without wow and flutter.
    fn steady_s(&self, position: &SongPosition) -> Option<f64> {
        let settings = &self.settings;
        let travel = match settings.motion {
            Motion::Hand => 0.0,
            Motion::Cycle => {
                let turns = cycles(position, settings.pace) + self.deck_state.added_cycles;
                settings.curve.cycle(turns)
            }
            Motion::Pass => {
                let (pass, progress) = self.pass(position);
                pass.travel(progress)
            }
            Motion::Drag if settings.drag == DragControl::Brake(0.0) => {
                return Some(self.deck_state.offset_s);
            }
            Motion::Drag => return None,
        };
        Some(settings.offset_s + travel * settings.range_s)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decks::course::Course;
    use crate::decks::motion::{Curve, Pace};
    use crate::decks::song_position::Transport;
    use crate::decks::values::Values;
    use crate::decks::wobble::WobbleAmounts;

    const RATE: f64 = 48_000.0;

    /// Plays two seconds, looks ahead, plays on: how far the deck is from the preview, seconds.
    fn worst_error_s(settings: &CourseSettings) -> f64 {
        let mut course = Course::new(RATE, 600);
        let start = SongPosition {
            seconds: 30.0,
            beats: 60.0,
            ..SongPosition::default()
        };
        let mut play = |from: usize, to: usize, watch: &mut dyn FnMut(usize, &Course<()>, f64)| {
            for at in (from..to).step_by(32) {
                let position = start.after(at as f64 / RATE);
                course.push(settings, (), Transport::Running(position), 32);
                let mut done = 0;
                while done < 32 {
                    let chunk = course.next_chunk(32 - done);
                    done += chunk.count;
                    let mut offsets_s = Values::Resting(0.0);
                    course.offsets(chunk.count, &mut offsets_s, &mut Values::Resting(1.0));
                    let offset_s = offsets_s.at(chunk.count - 1);
                    watch(at + done, &course, offset_s);
                }
            }
        };
        let mut preview = None;
        play(0, 96_000, &mut |at, course, offset_s| {
            if at == 96_000 {
                preview = Some(Preview::new(course.deck_state(offset_s), settings));
            }
        });
        let mut preview = preview.unwrap();
        let mut worst = 0.0f64;
        play(96_000, 240_000, &mut |at, _, offset_s| {
            let later_s = (at - 96_000) as f64 / RATE;
            worst = worst.max((preview.offset_s(later_s).unwrap() - offset_s).abs());
        });
        worst
    }

    #[test]
    fn the_deck_follows_its_preview() {
        let wobble = WobbleAmounts {
            wow: 0.001,
            flutter: 0.0005,
        };
        for motion in [Motion::Hand, Motion::Cycle, Motion::Drag] {
            for pace in [Pace::Beats(4.0), Pace::Hertz(0.3)] {
                for curve in [Curve::Sine, Curve::Triangle, Curve::Reel] {
                    let settings = CourseSettings {
                        motion,
                        offset_s: 0.001,
                        pace,
                        curve,
                        wobble: if motion == Motion::Drag {
                            WobbleAmounts::default()
                        } else {
                            wobble
                        },
                        ..CourseSettings::default()
                    };
                    let worst = worst_error_s(&settings);
                    assert!(worst < 1e-7, "{settings:?}: {worst}");
                }
            }
        }
    }

    #[test]
    fn a_pass_is_previewed_from_its_cue_on() {
        let settings = CourseSettings {
            motion: Motion::Pass,
            pace: Pace::Beats(4.0),
            ..CourseSettings::default()
        };
        let deck_state = DeckState {
            cue: Some(Cue::Beats(4.0)),
            ..DeckState::default()
        };
        let mut preview = Preview::new(deck_state, &settings);
        // At 120 a minute the pass takes the seconds 2 to 4.
        for (later_s, want) in [
            (0.0, -0.003),
            (2.0, -0.003),
            (3.0, 0.0),
            (4.0, 0.003),
            (9.0, 0.003),
        ] {
            let got = preview.offset_s(later_s).unwrap();
            assert!((got - want).abs() < 1e-12, "at {later_s}: {got}");
        }
    }

    #[test]
    fn a_pass_through_its_null_point_is_followed() {
        // The song begins at bar 16 and plays for five seconds, two and a half bars.
        for ease_bars in [0.0, 1.0] {
            let settings = CourseSettings {
                motion: Motion::Pass,
                pace: Pace::Beats(4.0),
                offset_s: 0.0005,
                null_at: Some(17.25),
                ease_bars,
                ..CourseSettings::default()
            };
            let worst = worst_error_s(&settings);
            assert!(worst < 1e-9, "{worst}");
        }
    }

    #[test]
    fn a_braked_deck_has_no_preview() {
        let settings = CourseSettings {
            motion: Motion::Drag,
            drag: DragControl::Brake(0.5),
            ..CourseSettings::default()
        };
        let mut preview = Preview::new(DeckState::default(), &settings);
        assert_eq!(preview.offset_s(1.0), None);
    }
}
