//! One pass: where its travel is at a place of the song, and how much of the comb is heard there.

use super::motion::{Cue, Curve, Pace, pass_turns};
use super::settings::CourseSettings;
use super::song_position::SongPosition;

/// A place that moves by less has not been moved: hosts round what they say of bar lines.
const SAME_BEATS: f64 = 1e-3;
/// A relative step of the tempo below which a pass of so many seconds goes on: it moves the deck by a tenth of a sample.
const SAME_TEMPO: f64 = 1e-4;

/// What a pass is counted from.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Origin {
    /// Nobody has asked for one yet: it waits at its beginning.
    Waiting,
    /// It begins here.
    Cue(Cue),
    /// Its null point lies on this quarter note.
    NullPoint(f64),
}

/// A pass under one set of settings, a pure function of the song's position.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    origin: Origin,
    pace: Pace,
    curve: Curve,
    ease_bars: f64,
}

impl Pass {
    /// As the settings want it. `cue` is the pass that was asked for last; bars are counted in the metre of `position`.
    pub fn new(settings: &CourseSettings, cue: Option<Cue>, position: &SongPosition) -> Self {
        let origin = match (settings.null_at, cue) {
            (Some(bar), _) => Origin::NullPoint(position.beats_at_bar(bar)),
            (None, Some(cue)) => Origin::Cue(cue),
            (None, None) => Origin::Waiting,
        };
        Self {
            origin,
            pace: settings.pace,
            curve: settings.curve,
            ease_bars: settings.ease_bars,
        }
    }

    /// Whether the travel goes on without a step under `next`. `reached` is the place that follows from the settings
    /// before, `told` the same place as the host tells it.
    pub fn continues(&self, next: &Self, (reached, told): (&SongPosition, &SongPosition)) -> bool {
        let origin_stays = match (self.origin, next.origin) {
            (Origin::NullPoint(old), Origin::NullPoint(new)) => {
                let tempo_step = (told.tempo_bpm / reached.tempo_bpm - 1.0).abs();
                let in_seconds = matches!(next.pace, Pace::Hertz(_));
                (old - new).abs() < SAME_BEATS && !(in_seconds && tempo_step > SAME_TEMPO)
            }
            (old, new) => old == new,
        };
        origin_stays && self.pace == next.pace && self.curve == next.curve
    }

    /// How far it is at a place of the song: 0 to 1 while it runs. With centre and range of the travel, of one unit.
    pub fn progress(&self, position: &SongPosition, (centre, range): (f64, f64)) -> f64 {
        match self.origin {
            Origin::Waiting => 0.0,
            Origin::Cue(cue) => cue.progress(position, self.pace),
            Origin::NullPoint(beats) => {
                let since = Cue::Beats(beats).progress(position, self.pace);
                since + self.progress_at_null(centre, range)
            }
        }
    }

    /// A travel that is centred beside the null line crosses it before or after its middle; where it does not reach the
    /// line, its nearer end is taken.
    fn progress_at_null(&self, centre: f64, range: f64) -> f64 {
        if centre == 0.0 || range <= 0.0 {
            return 0.5;
        }
        0.5 + 2.0 * self.curve.turns_at(-centre / range)
    }

    /// From -1 to 1, at this progress.
    pub fn travel(&self, progress: f64) -> f64 {
        self.curve.cycle(pass_turns(progress))
    }

    /// How much of the comb is heard, 0 to 1: all of it, or as much as Ease lets in. It is whole in the middle of the pass.
    pub fn depth(&self, progress: f64, position: &SongPosition) -> f64 {
        if self.ease_bars <= 0.0 {
            return 1.0;
        }
        let ease_beats = self.ease_bars * position.beats_per_bar;
        let ease = (ease_beats / self.pace.beats(position.tempo_bpm)).clamp(1e-9, 0.5);
        (progress.min(1.0 - progress) / ease).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CENTRED: (f64, f64) = (0.0, 0.003);

    fn at(beats: f64) -> SongPosition {
        SongPosition {
            seconds: beats / 2.0,
            beats,
            ..SongPosition::default()
        }
    }

    fn pass(settings: &CourseSettings) -> Pass {
        Pass::new(settings, None, &at(0.0))
    }

    #[test]
    fn the_null_point_lies_on_its_bar_whatever_the_centre() {
        for pace in [Pace::Beats(16.0), Pace::Hertz(0.2)] {
            for curve in [Curve::Sine, Curve::Triangle, Curve::Reel] {
                for centre in [0.0, 0.001, -0.0025] {
                    let settings = CourseSettings {
                        pace,
                        curve,
                        null_at: Some(33.0),
                        ..CourseSettings::default()
                    };
                    let (pass, distances) = (pass(&settings), (centre, 0.003));
                    let offset = |beats: f64| {
                        let progress = pass.progress(&at(beats), distances);
                        centre + 0.003 * pass.travel(progress)
                    };
                    let case = format!("{pace:?} {curve:?} around {centre}");
                    assert!(offset(128.0).abs() < 1e-12, "{case}: {}", offset(128.0));
                    assert!(offset(127.9) < 0.0 && offset(128.1) > 0.0, "{case}");
                }
            }
        }
    }

    #[test]
    fn the_comb_comes_in_and_goes_out() {
        let settings = CourseSettings {
            pace: Pace::Beats(16.0),
            null_at: Some(5.0),
            ease_bars: 1.0,
            ..CourseSettings::default()
        };
        let pass = pass(&settings);
        for (beats, depth) in [
            (0.0, 0.0),
            (8.0, 0.0),
            (10.0, 0.5),
            (12.0, 1.0),
            (16.0, 1.0),
            (22.0, 0.5),
            (24.0, 0.0),
            (99.0, 0.0),
        ] {
            let progress = pass.progress(&at(beats), CENTRED);
            assert_eq!(pass.depth(progress, &at(beats)), depth, "beat {beats}");
        }
        let waiting = Pass::new(
            &CourseSettings {
                null_at: None,
                ..settings
            },
            None,
            &at(0.0),
        );
        assert_eq!(
            waiting.depth(waiting.progress(&at(3.0), CENTRED), &at(3.0)),
            0.0
        );
    }
}
