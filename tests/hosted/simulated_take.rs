//! A simulated take: strokes of one drum in two overheads and a spot, with known delays.

use plumbline_hosting::noise;

/// Samples a second.
pub const RATE: usize = 48_000;

/// One stroke every 300 ms.
pub const EVERY: usize = RATE * 3 / 10;

/// Where a take's microphones stand, in samples after the drum, and how the spot is heard.
#[derive(Clone, Copy, Debug)]
pub struct SimulatedTake {
    pub first: usize,
    pub second: usize,
    pub spot: usize,
    pub spot_gain: f32,
    /// Of the second overhead: -1 is a reversed cable.
    pub second_sign: f32,
    /// Number of the first stroke: no two numbers sound alike, and a number always sounds the same.
    pub from: usize,
    pub strokes: usize,
}

/// The second overhead is 24 samples, half a millisecond, farther.
pub const FARTHER: SimulatedTake = SimulatedTake {
    first: 250,
    second: 274,
    spot: 0,
    spot_gain: 1.0,
    second_sign: 1.0,
    from: 0,
    strokes: 5,
};

/// Five milliseconds that the spot may be late or early by.
pub const LATE: usize = 240;

impl SimulatedTake {
    fn length(&self) -> usize {
        EVERY * (self.strokes + 1)
    }

    /// First, second, spot.
    pub fn channels(&self) -> [Vec<f32>; 3] {
        let channel = |delay: usize, gain: f32, floor: u64| {
            let mut channel: Vec<f32> = noise(self.length(), floor);
            channel.iter_mut().for_each(|x| *x *= 1e-4);
            for stroke in 0..self.strokes {
                let at = EVERY / 2 + EVERY * stroke + LATE + delay;
                add(&mut channel[at..], gain, (self.from + stroke) as u64);
            }
            channel
        };
        [
            channel(self.first, 0.3, 91),
            channel(self.second, 0.3 * self.second_sign, 92),
            channel(self.spot, 0.8 * self.spot_gain, 93),
        ]
    }
}

/// A drum of our own: wires and a 190 Hz head, no two strokes alike.
fn add(channel: &mut [f32], gain: f32, stroke: u64) {
    let wires = noise(4_000, 1_000 + stroke);
    for (i, (sample, pair)) in channel.iter_mut().zip(wires.windows(2)).enumerate() {
        let t = i as f32 / RATE as f32;
        let head = (std::f32::consts::TAU * 190.0 * t).sin() * (-t / 0.030).exp();
        let wires = (pair[0] + pair[1]) * (-t / 0.012).exp();
        let attack = (t / 0.000_3).min(1.0);
        *sample += gain * attack * (0.6 * head + 0.7 * wires);
    }
}
