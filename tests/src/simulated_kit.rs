//! Snare and kick in turn, heard by any microphones with the truth known: the one simulated kit of the tests that load the plugin.

use crate::fractional_delay::delayed;
use crate::noise::noise;

/// A drum of the simulated kit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SimulatedDrum {
    /// A 200 Hz head under wires.
    Snare,
    /// A 60 Hz shell with the beater's click.
    Kick,
}

/// One way from a drum to a microphone: direct, or over a wall.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    pub samples: f64,
    pub gain: f32,
}

/// How one microphone hears the kit.
#[derive(Clone, Debug)]
pub struct SimulatedMicrophone {
    pub snare: Vec<Way>,
    pub kick: Vec<Way>,
    /// Seed of the noise under it, -86 dB.
    pub floor: u64,
}

/// Strokes of snare and kick in turn. Synthetic drums, no published source.
#[derive(Clone, Copy, Debug)]
pub struct SimulatedKit {
    /// Other seeds, other strokes.
    pub seed: u64,
    /// Of both drums together.
    pub strokes: usize,
}

impl SimulatedKit {
    /// Samples a second.
    pub const RATE: usize = 48_000;
    /// From one stroke to the next, samples.
    pub const EVERY: usize = Self::RATE * 35 / 100;

    /// Samples at which a drum is struck.
    pub fn struck(&self, drum: SimulatedDrum) -> impl Iterator<Item = usize> + use<> {
        self.numbers(drum).map(|number| (number + 1) * Self::EVERY)
    }

    /// What a microphone records.
    pub fn heard(&self, microphone: &SimulatedMicrophone) -> Vec<f32> {
        let floor = noise(self.frames(), microphone.floor);
        let mut heard: Vec<f32> = floor.iter().map(|x| 1e-4 * x).collect();
        let drums = [
            (SimulatedDrum::Snare, &microphone.snare),
            (SimulatedDrum::Kick, &microphone.kick),
        ];
        for (drum, ways) in drums {
            let dry = self.dry(drum);
            for way in ways {
                let arrived = heard.iter_mut().zip(delayed(&dry, way.samples));
                arrived.for_each(|(heard, x)| *heard += way.gain * x);
            }
        }
        heard
    }

    fn frames(&self) -> usize {
        (self.strokes + 3) * Self::EVERY
    }

    fn numbers(&self, drum: SimulatedDrum) -> impl Iterator<Item = usize> + use<> {
        (drum as usize..self.strokes).step_by(2)
    }

    /// All strokes of one drum as they leave it.
    fn dry(&self, drum: SimulatedDrum) -> Vec<f32> {
        let mut track = vec![0.0; self.frames()];
        for (number, at) in self.numbers(drum).zip(self.struck(drum)) {
            let sound = track[at..].iter_mut().zip(self.stroke(drum, number));
            sound.for_each(|(track, x)| *track += x);
        }
        track
    }

    /// No two strokes are alike.
    fn stroke(&self, drum: SimulatedDrum, number: usize) -> Vec<f32> {
        let rough = noise(9_000, 7_000 * (self.seed + 1) + number as u64);
        let sample = |(n, pair): (usize, &[f32])| {
            let t = n as f32 / Self::RATE as f32;
            let tone =
                |hz: f32, fall_s: f32| (std::f32::consts::TAU * hz * t).sin() * (-t / fall_s).exp();
            let burst = |fall_s: f32| (pair[0] + pair[1]) * (-t / fall_s).exp();
            // A drummer's strokes differ in pitch by a little.
            let bend = 1.0 + 0.01 * (number as f32 * 2.4).sin();
            let body = match drum {
                SimulatedDrum::Snare => 0.35 * tone(200.0 * bend, 0.030) + 1.2 * burst(0.035),
                SimulatedDrum::Kick => 0.9 * tone(60.0 * bend, 0.060) + 0.3 * burst(0.004),
            };
            (t / 0.000_3).min(1.0) * body
        };
        rough.windows(2).enumerate().map(sample).collect()
    }
}
