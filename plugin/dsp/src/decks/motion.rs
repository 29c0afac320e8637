//! The ways the offset travels, as pure functions of the song's position.

use std::f64::consts::TAU;

use super::song_position::SongPosition;
use crate::math::sine::{sine_of_half, to_half};
use crate::math::widest::{Arithmetic, Work, run_widest};

/// What moves the moving deck.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Motion {
    /// The offset parameter itself, by hand or automation.
    #[default]
    Hand,
    /// To and fro around the offset parameter.
    Cycle,
    /// Once from one side of the offset parameter to the other, on cue.
    Pass,
    /// A braking force on one of the decks; the offset builds up.
    Drag,
}

/// The shape of a travel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Curve {
    /// Slowest at the turns.
    #[default]
    Sine,
    /// Constant speed.
    Triangle,
    /// Constant speed, with inertia at the turns.
    Reel,
}

/// How long one cycle or one pass takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// Quarter notes, locked to the song's tempo.
    Beats(f64),
    /// Cycles or passes a second, free of the tempo.
    Hertz(f64),
}

/// Part of a cycle that a reel takes from braking at constant speed to standing still. Common practice, no source.
const REEL_TURN: f64 = 0.05;

impl Curve {
    /// From -1 to 1, `turns` in cycles: 0 and rising at every whole cycle, 0 and falling half way.
    pub fn cycle(self, turns: f64) -> f64 {
        let mut travel = [turns];
        self.cycle_all(&mut travel);
        travel[0]
    }

    /// Turns cycles into travel, sample by sample.
    pub fn cycle_all(self, travel: &mut [f64]) {
        run_widest(Cycles {
            curve: self,
            travel,
        });
    }

    /// Where between its turns, -0.25 to 0.25, the rising cycle is at this travel, -1 to 1.
    pub fn turns_at(self, travel: f64) -> f64 {
        let travel = travel.clamp(-1.0, 1.0);
        match self {
            Self::Sine => travel.asin() / TAU,
            Self::Triangle => travel / 4.0,
            Self::Reel => travel.signum() * reel_turns_at(travel.abs()),
        }
    }

    /// From -1 at `progress` 0 to 1 at 1, 0 exactly in the middle; stays at the ends outside.
    pub fn pass(self, progress: f64) -> f64 {
        self.cycle(pass_turns(progress))
    }
}

/// Cycles on their way to travel.
struct Cycles<'a> {
    curve: Curve,
    travel: &'a mut [f64],
}

impl Work for Cycles<'_> {
    /// Without the arithmetic that differs: the position in the song has the same bits on every processor. Symmetric around
    /// 0, so that both sides of a null point are mirror images bit for bit.
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let travel = self.travel.iter_mut();
        match self.curve {
            Curve::Sine => travel.for_each(|x| *x = sine_of_half(to_half(*x))),
            Curve::Triangle => travel.for_each(|x| *x = triangle(to_half(*x))),
            Curve::Reel => travel.for_each(|x| *x = reel(to_half(*x))),
        }
    }
}

/// The part of a cycle that a pass is.
pub fn pass_turns(progress: f64) -> f64 {
    (progress.clamp(0.0, 1.0) - 0.5) / 2.0
}

/// `turns` from -0.5 to 0.5.
#[inline(always)]
fn triangle(turns: f64) -> f64 {
    let rising = 4.0 * turns;
    if turns.abs() <= 0.25 {
        rising
    } else {
        2.0 * turns.signum() - rising
    }
}

/// A triangle whose turns are parabolas: the speed reverses evenly.
#[inline(always)]
fn reel(turns: f64) -> f64 {
    let from_null = 0.25 - (turns.abs() - 0.25).abs();
    let into_turn = (from_null - (0.25 - REEL_TURN)).max(0.0);
    let path = 4.0 * from_null - 2.0 * into_turn * into_turn / REEL_TURN;
    turns.signum() * path / (1.0 - 2.0 * REEL_TURN)
}

/// Where a reel's cycle is at this travel, 0 to 1.
fn reel_turns_at(travel: f64) -> f64 {
    let path = travel * (1.0 - 2.0 * REEL_TURN);
    let straight = 0.25 - REEL_TURN;
    let beyond = path - 4.0 * straight;
    if beyond <= 0.0 {
        path / 4.0
    } else {
        straight + REEL_TURN * (1.0 - (1.0 - beyond / (2.0 * REEL_TURN)).max(0.0).sqrt())
    }
}

/// When a pass begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cue {
    /// At this quarter note.
    Beats(f64),
    /// At this second of the song.
    Seconds(f64),
}

impl Pace {
    /// Quarter notes of one cycle or one pass at this tempo.
    pub fn beats(self, tempo_bpm: f64) -> f64 {
        match self {
            Self::Beats(beats) => beats,
            Self::Hertz(hz) => tempo_bpm / 60.0 / hz.max(1e-6),
        }
    }
}

impl Cue {
    /// Where a pass asked for at `position` begins: on the next bar line when locked to the tempo, else at once.
    pub fn at(position: &SongPosition, pace: Pace) -> Self {
        match pace {
            Pace::Beats(_) => Self::Beats(position.next_bar()),
            Pace::Hertz(_) => Self::Seconds(position.seconds),
        }
    }

    /// How much of the pass is done, 0 to 1 while it runs.
    pub fn progress(self, position: &SongPosition, pace: Pace) -> f64 {
        let seconds_per_beat = 60.0 / position.tempo_bpm;
        match (self, pace) {
            (Self::Beats(start), Pace::Beats(length)) => (position.beats - start) / length,
            (Self::Seconds(start), Pace::Hertz(hz)) => (position.seconds - start) * hz,
            // The pace was changed under a pass: the way since its start at the new pace and today's tempo.
            (Self::Beats(start), Pace::Hertz(hz)) => {
                (position.beats - start) * seconds_per_beat * hz
            }
            (Self::Seconds(start), Pace::Beats(length)) => {
                (position.seconds - start) / seconds_per_beat / length
            }
        }
    }
}

/// Cycles since the song's start.
pub fn cycles(position: &SongPosition, pace: Pace) -> f64 {
    match pace {
        Pace::Beats(length) => position.beats / length,
        Pace::Hertz(hz) => position.seconds * hz,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CURVES: [Curve; 3] = [Curve::Sine, Curve::Triangle, Curve::Reel];

    #[test]
    fn every_curve_passes_its_null_points_and_reaches_its_turns() {
        for curve in CURVES {
            for (turns, want) in [
                (0.0, 0.0),
                (0.25, 1.0),
                (0.5, 0.0),
                (-0.25, -1.0),
                (7.25, 1.0),
            ] {
                let got = curve.cycle(turns);
                assert!((got - want).abs() < 1e-12, "{curve:?} at {turns}: {got}");
            }
            assert_eq!(curve.pass(0.5), 0.0);
            let ends = [
                curve.pass(-3.0),
                curve.pass(0.0),
                curve.pass(1.0),
                curve.pass(9.0),
            ];
            for (got, want) in ends.iter().zip([-1.0, -1.0, 1.0, 1.0]) {
                assert!((got - want).abs() < 1e-12, "{curve:?}: {ends:?}");
            }
        }
    }

    #[test]
    fn a_travel_is_found_again_on_every_curve() {
        for curve in CURVES {
            for step in -100..=100 {
                let travel = f64::from(step) / 100.0;
                let back = curve.cycle(curve.turns_at(travel));
                assert!((back - travel).abs() < 1e-9, "{curve:?}, {travel}: {back}");
            }
            assert_eq!(curve.turns_at(0.0), 0.0);
        }
    }

    #[test]
    fn both_sides_of_the_null_point_are_mirror_images() {
        for curve in CURVES {
            for step in 0..=500 {
                let turns = f64::from(step) / 1000.0;
                assert_eq!(
                    curve.cycle(turns),
                    -curve.cycle(-turns),
                    "{curve:?} {turns}"
                );
            }
        }
    }

    #[test]
    fn a_reel_has_no_corner_and_nothing_jumps() {
        for curve in CURVES {
            let speeds: Vec<f64> = (0..4000)
                .map(|n| f64::from(n) / 4000.0)
                .map(|turns| (curve.cycle(turns + 1e-4) - curve.cycle(turns)) / 1e-4)
                .collect();
            let fastest = speeds.iter().fold(0.0f64, |a, b| a.max(b.abs()));
            assert!(fastest < 6.3, "{curve:?}: {fastest}");
            let corner = speeds
                .windows(2)
                .fold(0.0f64, |a, w| a.max((w[1] - w[0]).abs()));
            assert!(
                curve == Curve::Triangle || corner < 0.05,
                "{curve:?}: {corner}"
            );
        }
    }

    #[test]
    fn a_cue_waits_for_the_bar_only_when_locked() {
        let position = SongPosition {
            seconds: 2.6,
            beats: 5.2,
            ..SongPosition::default()
        };
        assert_eq!(Cue::at(&position, Pace::Beats(4.0)), Cue::Beats(8.0));
        assert_eq!(Cue::at(&position, Pace::Hertz(0.5)), Cue::Seconds(2.6));
        let middle = SongPosition {
            beats: 10.0,
            ..position
        };
        assert_eq!(Cue::Beats(8.0).progress(&middle, Pace::Beats(4.0)), 0.5);
        assert_eq!(Cue::Beats(8.0).progress(&middle, Pace::Hertz(1.0)), 1.0);
    }
}
