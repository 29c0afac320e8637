//! The monitor matrix: the pair, its mono sum, its difference, or the spot.

use super::gain_ramp::GainRamp;
use crate::params::Monitor;

/// Gains of first, second and spot in one output channel.
type Gains = [f32; 3];

const FIRST: Gains = [1.0, 0.0, 0.0];
const SECOND: Gains = [0.0, 1.0, 0.0];
const HALF_SUM: Gains = [0.5, 0.5, 0.0];
const HALF_DIFFERENCE: Gains = [0.5, -0.5, 0.0];
const SPOT: Gains = [0.0, 0.0, 1.0];
const NOTHING: Gains = [0.0, 0.0, 0.0];

/// A small matrix whose gains glide when the choice changes.
#[derive(Debug)]
pub struct MonitorMix {
    left: [GainRamp; 3],
    right: [GainRamp; 3],
}

impl MonitorMix {
    /// Starts at the pair.
    pub fn new(sample_rate: f64) -> Self {
        let ramps = |gains: Gains| gains.map(|gain| GainRamp::new(sample_rate, gain));
        Self {
            left: ramps(FIRST),
            right: ramps(SECOND),
        }
    }

    /// Glides to a choice. A mono main is its own sum and has no difference.
    pub fn choose(&mut self, choice: Monitor, channels: usize) {
        let (left, right) = match (choice, channels) {
            (Monitor::Stereo, _) | (Monitor::Mono, 1) => (FIRST, SECOND),
            (Monitor::Mono, _) => (HALF_SUM, HALF_SUM),
            (Monitor::Difference, 1) => (NOTHING, NOTHING),
            (Monitor::Difference, _) => (HALF_DIFFERENCE, HALF_DIFFERENCE),
            (Monitor::Spot, _) => (SPOT, SPOT),
        };
        send(&mut self.left, left);
        send(&mut self.right, right);
        if channels == 1 {
            self.right.iter_mut().for_each(GainRamp::jump);
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        let ramps = self.left.iter_mut().chain(&mut self.right);
        ramps.for_each(GainRamp::jump);
    }

    /// Works in place; `spot` is as long as the channels. The settled pair passes bit for bit.
    pub fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32]) {
        if self.passes_the_pair() {
            return;
        }
        match channels {
            [mono] => {
                for (sample, &spot) in mono.iter_mut().zip(spot) {
                    *sample = mix(&mut self.left, [*sample, 0.0, spot]);
                }
            }
            [first, second] => {
                for ((first, second), &spot) in first.iter_mut().zip(second.iter_mut()).zip(spot) {
                    let sources = [*first, *second, spot];
                    *first = mix(&mut self.left, sources);
                    *second = mix(&mut self.right, sources);
                }
            }
            _ => {}
        }
    }

    /// Changes nothing.
    pub fn passes_the_pair(&self) -> bool {
        rest(&self.left, FIRST) && rest(&self.right, SECOND)
    }
}

fn send(ramps: &mut [GainRamp; 3], gains: Gains) {
    for (ramp, gain) in ramps.iter_mut().zip(gains) {
        ramp.go_to(gain);
    }
}

fn rest(ramps: &[GainRamp; 3], gains: Gains) -> bool {
    ramps
        .iter()
        .zip(gains)
        .all(|(ramp, gain)| ramp.rests_at(gain))
}

fn mix(ramps: &mut [GainRamp; 3], sources: [f32; 3]) -> f32 {
    let parts = ramps.iter_mut().zip(sources).map(|(f, s)| f.next() * s);
    parts.sum()
}
