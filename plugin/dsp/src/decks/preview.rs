//! Where the moving deck is going: its course ahead, from the settings and the place in the song as they are now.

use super::motion::{Cue, Motion, cycles, pass_turns};
use super::settings::{CourseSettings, FARTHEST_S};
use super::song_clock::SongPosition;
use crate::decks::drag::Hands;
use crate::decks::wobble::Wobble;

/// Where the moving deck is.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Bearings {
    /// Place in the song of the audio that comes out now.
    pub position: SongPosition,
    /// Moving deck minus fixed deck there, seconds.
    pub offset_s: f64,
    /// The pass that was asked for last.
    pub cue: Option<Cue>,
    /// Cycles added since the rate was changed under a free cycle.
    pub shift: f64,
}

/// The course ahead while nobody touches anything.
#[derive(Clone, Debug)]
pub struct Outlook {
    bearings: Bearings,
    settings: CourseSettings,
    wobble: Wobble,
}

impl Outlook {
    /// Looks ahead from where the deck is.
    pub fn new(bearings: Bearings, settings: &CourseSettings) -> Self {
        Self {
            bearings,
            settings: settings.sane(),
            wobble: Wobble::new(),
        }
    }

    /// The offset `later_s` seconds from now; before now it is where it would have been. `None` where a hand decides.
    pub fn offset_s(&mut self, later_s: f64) -> Option<f64> {
        let place = self.bearings.position.after(later_s);
        let offset_s = self.steady_s(&place)?.clamp(-FARTHEST_S, FARTHEST_S);
        Some(offset_s + self.wobble.offset_s(place.seconds, self.settings.wobble))
    }

    /// Without wow and flutter.
    fn steady_s(&self, place: &SongPosition) -> Option<f64> {
        let settings = &self.settings;
        let travel = match settings.motion {
            Motion::Hand => 0.0,
            Motion::Cycle => {
                let turns = cycles(place, settings.pace) + self.bearings.shift;
                settings.curve.cycle(turns)
            }
            Motion::Pass => {
                let progress = self
                    .bearings
                    .cue
                    .map_or(0.0, |cue| cue.progress(place, settings.pace));
                settings.curve.cycle(pass_turns(progress))
            }
            Motion::Drag if settings.hands == Hands::Drag(0.0) => {
                return Some(self.bearings.offset_s);
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
    use crate::decks::song_clock::Transport;
    use crate::decks::wobble::WobbleAmounts;

    const RATE: f64 = 48_000.0;

    /// Plays two seconds, looks ahead, plays on: how far the deck is from where it was seen, seconds.
    fn surprise(settings: &CourseSettings) -> f64 {
        let mut course = Course::new(RATE, 600);
        let start = SongPosition {
            seconds: 30.0,
            beats: 60.0,
            ..SongPosition::default()
        };
        let mut play = |from: usize, to: usize, watch: &mut dyn FnMut(usize, &Course<()>, f64)| {
            for at in (from..to).step_by(32) {
                let place = start.after(at as f64 / RATE);
                course.take(settings, (), Transport::Running(place), 32);
                let mut done = 0;
                while done < 32 {
                    let stretch = course.stretch(32 - done);
                    done += stretch.count;
                    watch(at + done, &course, stretch.offsets_s[stretch.count - 1]);
                }
            }
        };
        let mut outlook = None;
        play(0, 96_000, &mut |at, course, offset_s| {
            if at == 96_000 {
                outlook = Some(Outlook::new(course.bearings(offset_s), settings));
            }
        });
        let mut outlook = outlook.unwrap();
        let mut worst = 0.0f64;
        play(96_000, 240_000, &mut |at, _, offset_s| {
            let later_s = (at - 96_000) as f64 / RATE;
            worst = worst.max((outlook.offset_s(later_s).unwrap() - offset_s).abs());
        });
        worst
    }

    #[test]
    fn the_deck_goes_where_it_was_seen_going() {
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
                    let worst = surprise(&settings);
                    assert!(worst < 1e-7, "{settings:?}: {worst}");
                }
            }
        }
    }

    #[test]
    fn a_pass_is_seen_from_its_cue_on() {
        let settings = CourseSettings {
            motion: Motion::Pass,
            pace: Pace::Beats(4.0),
            ..CourseSettings::default()
        };
        let bearings = Bearings {
            cue: Some(Cue::Beats(4.0)),
            ..Bearings::default()
        };
        let mut outlook = Outlook::new(bearings, &settings);
        // At 120 a minute the pass takes the seconds 2 to 4.
        for (later_s, want) in [
            (0.0, -0.003),
            (2.0, -0.003),
            (3.0, 0.0),
            (4.0, 0.003),
            (9.0, 0.003),
        ] {
            let got = outlook.offset_s(later_s).unwrap();
            assert!((got - want).abs() < 1e-12, "at {later_s}: {got}");
        }
    }

    #[test]
    fn a_hand_on_a_reel_cannot_be_foreseen() {
        let settings = CourseSettings {
            motion: Motion::Drag,
            hands: Hands::Drag(0.5),
            ..CourseSettings::default()
        };
        let mut outlook = Outlook::new(Bearings::default(), &settings);
        assert_eq!(outlook.offset_s(1.0), None);
    }
}
