//! A kit in a shoebox room: where drums and microphones stand, and what a microphone hears of a click.

use std::f64::consts::{PI, TAU};

use super::RATE;
use super::pattern::Played;
use super::strokes::Source;
use crate::noise::Noise;

/// Metres from a corner.
pub type Point = [f64; 3];

/// Metres a second at 20 C.
const SPEED_OF_SOUND: f64 = 343.2;
/// Every response is this many samples late, so that the kernel's first half has room.
pub const LEAD: usize = 40;
/// Taps of the fractional delay.
const TAPS: i64 = 64;
/// Images of up to so many reflections are drawn one by one; what is later is the tail.
const ORDERS: i64 = 2;
/// Longest response, seconds.
pub const RESPONSE_S: f64 = 0.45;

/// First overhead, second overhead, kick's and snare's own microphone.
pub const MICROPHONES: usize = 4;

pub struct Room {
    size: Point,
    /// Amplitude left after one wall.
    reflection: f64,
    /// Time to -60 dB, seconds.
    decay_s: f64,
    /// Where the centre of each drum is, in the order of [`Source`].
    sources: [Point; Source::ALL.len()],
    microphones: [Point; MICROPHONES],
}

fn plus(a: Point, b: Point) -> Point {
    std::array::from_fn(|axis| a[axis] + b[axis])
}

fn distance(a: Point, b: Point) -> f64 {
    let squares = a.iter().zip(b).map(|(a, b)| (a - b).powi(2));
    squares.sum::<f64>().sqrt()
}

impl Room {
    /// Sizes from a small booth to a live room, decays of 0.25 to 0.6 s; a right-handed kit with its stands moved about, two
    /// overheads 0.9 to 1.4 m over the snare and 0.8 to 1.6 m apart.
    pub fn random(noise: &mut Noise) -> Self {
        let size = [
            noise.between(4.0, 8.0),
            noise.between(3.5, 6.0),
            noise.between(2.6, 3.6),
        ];
        let decay_s = noise.between(0.25, 0.6);
        let [x, y, z] = size;
        // Sabine: 0.161 V / (S a).
        let surface = 2.0 * (x * y + y * z + z * x);
        let absorbed = (0.161 * x * y * z / (surface * decay_s)).min(0.9);
        let kit = [
            x * noise.between(0.4, 0.6),
            y * noise.between(0.3, 0.6),
            0.0,
        ];
        let mut about = |point: Point, by: f64| {
            let moved = plus(point, std::array::from_fn(|_| noise.between(-by, by)));
            plus(kit, moved)
        };
        let kick = about([0.35, 0.45, 0.35], 0.05);
        let snare = about([0.0, 0.0, 0.65], 0.03);
        let sources = [
            kick,
            snare,
            about([0.15, 0.45, 0.80], 0.05),
            about([0.75, -0.10, 0.60], 0.05),
            about([-0.40, 0.20, 0.85], 0.05),
            about([0.75, 0.40, 1.00], 0.08),
            about([-0.40, 0.60, 1.15], 0.08),
        ];
        let microphones = [
            about([-0.55, 0.20, 1.75], 0.25),
            about([0.55, 0.20, 1.75], 0.25),
            plus(kick, [0.0, 0.12, 0.02]),
            plus(snare, [0.05, 0.15, 0.06]),
        ];
        Self {
            size,
            reflection: (1.0 - absorbed).sqrt(),
            decay_s,
            sources,
            microphones,
        }
    }

    /// Where a stroke lands.
    pub fn place(&self, played: &Played) -> Point {
        let landing = [played.stick.x, played.stick.y, 0.0];
        plus(self.sources[played.source as usize], landing)
    }

    /// Second minus first of a sound that starts at a place, samples.
    pub fn gap(&self, place: Point) -> f64 {
        let [first, second, ..] = self.microphones.map(|at| distance(at, place));
        (second - first) / SPEED_OF_SOUND * RATE
    }

    /// Direct sound and early reflections by the image-source method (Allen & Berkley 1979), each 1 / distance.
    pub fn early(&self, place: Point, microphone: usize, response: &mut [f64]) {
        let at = self.microphones[microphone];
        let orders = -ORDERS..=ORDERS;
        for i in orders.clone() {
            for j in orders.clone() {
                for k in orders.clone() {
                    let order = i.abs() + j.abs() + k.abs();
                    if order > ORDERS {
                        continue;
                    }
                    let image = self.image(place, [i, j, k]);
                    let far = distance(image, at);
                    let gain = self.reflection.powi(order as i32) / far;
                    add_delayed(response, LEAD as f64 + far / SPEED_OF_SOUND * RATE, gain);
                }
            }
        }
    }

    fn image(&self, place: Point, number: [i64; 3]) -> Point {
        std::array::from_fn(|axis| {
            let (size, n) = (self.size[axis], number[axis]);
            let inside = if n % 2 == 0 {
                place[axis]
            } else {
                size - place[axis]
            };
            n as f64 * size + inside
        })
    }

    /// The reverberant tail: decaying noise, as strong against the direct sound at 1 m as the critical distance says
    /// (0.057 sqrt(V / T) metres), from the direct sound on, swelling over 10 ms.
    pub fn tail(&self, source: Source, microphone: usize, noise: &mut Noise) -> Vec<f64> {
        let far = distance(self.sources[source as usize], self.microphones[microphone]);
        let from = LEAD + (far / SPEED_OF_SOUND * RATE) as usize;
        let mut tail = vec![0.0; (RESPONSE_S * RATE) as usize];
        for (n, x) in tail[from..].iter_mut().enumerate() {
            let t = n as f64 / RATE;
            let swell = (t / 0.010).min(1.0).powi(2);
            *x = noise.normal() * 10f64.powf(-3.0 * t / self.decay_s) * swell;
        }
        let volume: f64 = self.size.iter().product();
        let critical = 0.057 * (volume / self.decay_s).sqrt();
        let energy: f64 = tail.iter().map(|x| x * x).sum();
        let scale = (1.0 / energy).sqrt() / critical;
        tail.iter_mut().for_each(|x| *x *= scale);
        tail
    }
}

/// Adds an impulse between samples: a sinc under a Blackman window.
fn add_delayed(response: &mut [f64], delay: f64, gain: f64) {
    let middle = delay.floor() as i64;
    for n in middle - TAPS / 2 + 1..=middle + TAPS / 2 {
        let Some(out) = usize::try_from(n).ok().and_then(|n| response.get_mut(n)) else {
            continue;
        };
        let x = n as f64 - delay;
        let sinc = if x.abs() < 1e-9 {
            1.0
        } else {
            (PI * x).sin() / (PI * x)
        };
        let turn = TAU * x / TAPS as f64;
        let window = 0.42 + 0.5 * turn.cos() + 0.08 * (2.0 * turn).cos();
        *out += gain * sinc * window;
    }
}

/// The centroids of the direct sounds (before the first reflection can come) are the gap apart.
#[test]
fn direct_sounds_are_a_gap_apart() {
    for seed in 1_000..1_010 {
        let room = Room::random(&mut Noise::new(seed));
        let snare = room.sources[Source::Snare as usize];
        let [first, second] = [0, 1].map(|microphone| {
            let mut response = vec![0.0; 2_000];
            room.early(snare, microphone, &mut response);
            let far = distance(snare, room.microphones[microphone]);
            let until = LEAD + (far / SPEED_OF_SOUND * RATE) as usize + TAPS as usize / 2;
            let sum: f64 = response[..until].iter().sum();
            let moment = response[..until]
                .iter()
                .enumerate()
                .map(|(n, x)| n as f64 * x);
            moment.sum::<f64>() / sum
        });
        let case = format!("room {seed}");
        crate::support::assert_near(&case, second - first, room.gap(snare), 0.01);
    }
}
