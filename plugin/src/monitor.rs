//! What goes to the ear: the pair, its mono sum, its difference, or the spot.

use crate::fade::Fade;
use crate::params::Monitor;

/// Shares of first, second and spot in one output channel.
type Shares = [f32; 3];

const FIRST: Shares = [1.0, 0.0, 0.0];
const SECOND: Shares = [0.0, 1.0, 0.0];
const HALF_SUM: Shares = [0.5, 0.5, 0.0];
const HALF_DIFFERENCE: Shares = [0.5, -0.5, 0.0];
const SPOT: Shares = [0.0, 0.0, 1.0];
const NOTHING: Shares = [0.0, 0.0, 0.0];

/// A small matrix whose shares fade when the choice changes.
#[derive(Debug)]
pub struct MonitorMix {
    left: [Fade; 3],
    right: [Fade; 3],
}

impl MonitorMix {
    /// Starts at the pair.
    pub fn new(sample_rate: f64) -> Self {
        let fades = |shares: Shares| shares.map(|share| Fade::new(sample_rate, share));
        Self {
            left: fades(FIRST),
            right: fades(SECOND),
        }
    }

    /// Fades to a choice. A mono main is its own sum and has no difference.
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
            self.right.iter_mut().for_each(Fade::jump);
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        let fades = self.left.iter_mut().chain(&mut self.right);
        fades.for_each(Fade::jump);
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

    fn passes_the_pair(&self) -> bool {
        rest(&self.left, FIRST) && rest(&self.right, SECOND)
    }
}

fn send(fades: &mut [Fade; 3], shares: Shares) {
    for (fade, share) in fades.iter_mut().zip(shares) {
        fade.go_to(share);
    }
}

fn rest(fades: &[Fade; 3], shares: Shares) -> bool {
    fades
        .iter()
        .zip(shares)
        .all(|(fade, share)| fade.rests_at(share))
}

fn mix(fades: &mut [Fade; 3], sources: [f32; 3]) -> f32 {
    let parts = fades.iter_mut().zip(sources).map(|(f, s)| f.next() * s);
    parts.sum()
}
