//! Who plays when: eight bars of a whole kit, with the timing and the aim of a human being.

use super::strokes::{LONGEST_S, Source, Stick};
use super::{Cymbals, SimulatedKit};
use crate::noise::Noise;

/// Beats a minute.
const TEMPO: f64 = 104.0;
/// Human timing, standard deviation in seconds.
const TIMING_S: f64 = 0.004;
/// Two limbs on one beat, standard deviation in seconds: tighter than most drummers (no source), which is the harder case.
const LIMBS_S: f64 = 0.001;
/// Where a stick lands on the head, standard deviation in metres on each axis: isolated real strokes of one snare scatter by
/// 27 us, 9 mm of path (recordings, near pair).
const LANDING_M: f64 = 0.010;
/// Silence before the first beat and after the last, seconds.
const PRE_ROLL_S: f64 = 0.5;
const AFTER_S: f64 = 1.5;

/// One stroke.
pub struct Played {
    pub source: Source,
    /// Seconds from the take's beginning.
    pub at_s: f64,
    pub stick: Stick,
}

pub struct Pattern {
    kit: SimulatedKit,
    pub played: Vec<Played>,
}

impl Pattern {
    pub fn new(kit: SimulatedKit, noise: &mut Noise) -> Self {
        let mut pattern = Self {
            kit,
            played: Vec::new(),
        };
        for beat in 0..kit.bars * 4 {
            pattern.beat(beat, noise);
        }
        if kit.cymbals == Cymbals::Wash {
            pattern.wash();
        }
        pattern
    }

    /// Length of the take, seconds.
    pub fn length_s(&self) -> f64 {
        PRE_ROLL_S + self.kit.bars as f64 * 240.0 / TEMPO + AFTER_S
    }

    /// The kit's main strokes (no ghosts) of some sources.
    pub fn main(&self, mine: impl Fn(Source) -> bool) -> impl Iterator<Item = &Played> {
        let main = move |played: &&Played| mine(played.source) && played.stick.velocity >= 0.3;
        self.played.iter().filter(main)
    }

    fn beat(&mut self, number: usize, noise: &mut Noise) {
        let beat = number as f64;
        let main = if number.is_multiple_of(2) {
            Source::Kick
        } else {
            Source::Snare
        };
        let at_s = self.add(main, beat, [0.7, 1.0], noise);
        if number % 4 == 3 {
            self.add(Source::Kick, beat + 0.5, [0.5, 0.8], noise);
        }
        if number % 4 == 1 {
            self.add(Source::Snare, beat + 0.75, [0.1, 0.25], noise);
        }
        if number % 16 == 15 {
            self.add(Source::HighTom, beat + 0.25, [0.6, 0.9], noise);
            self.add(Source::LowTom, beat + 0.5, [0.6, 0.9], noise);
            self.add(Source::LowTom, beat + 0.75, [0.6, 0.9], noise);
        }
        match self.kit.cymbals {
            Cymbals::Hats => {
                self.add(Source::Hat, beat, [0.5, 1.0], noise);
                self.add(Source::Hat, beat + 0.5, [0.5, 1.0], noise);
            }
            Cymbals::Ride => {
                let velocity = noise.between(0.5, 1.0);
                self.play(
                    Source::Ride,
                    at_s + LIMBS_S * noise.normal(),
                    velocity,
                    [0.0; 2],
                );
            }
            Cymbals::Wash => {}
        }
    }

    /// Strokes that swell and fade into one another at a constant power.
    fn wash(&mut self) {
        let step = 0.5 * LONGEST_S;
        let strokes = ((self.length_s() - LONGEST_S) / step) as usize;
        for number in 1..strokes {
            self.play(Source::Crash, number as f64 * step, 1.0, [0.0; 2]);
        }
    }

    /// A stroke at a beat, where human timing puts it; its time in seconds.
    fn add(&mut self, source: Source, beat: f64, velocity: [f64; 2], noise: &mut Noise) -> f64 {
        let velocity = noise.between(velocity[0], velocity[1]);
        let at_s = PRE_ROLL_S + beat * 60.0 / TEMPO + TIMING_S * noise.normal();
        let aim = if source.is_cymbal() { 0.0 } else { LANDING_M };
        let place = [aim * noise.normal(), aim * noise.normal()];
        self.play(source, at_s, velocity, place);
        at_s
    }

    fn play(&mut self, source: Source, at_s: f64, velocity: f64, [x, y]: [f64; 2]) {
        let stick = Stick { x, y, velocity };
        self.played.push(Played {
            source,
            at_s,
            stick,
        });
    }
}
