//! A shoebox room by image sources: what a microphone hears of a drum, with the geometry known exactly.
//!
//! Allen & Berkley, "Image method for efficiently simulating small-room acoustics", JASA 65(4), 1979.

use std::f64::consts::PI;

/// A place in the room, metres: x to the right, y to the back, z up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// To the back.
    pub y: f64,
    /// Up.
    pub z: f64,
}

/// A cardioid: most from where it is aimed, nothing from behind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Microphone {
    /// Its capsule.
    pub at: Point,
    /// The place it is aimed at.
    pub aim: Point,
}

/// A rectangular room with one corner at zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// Width, depth, height, metres.
    pub size: Point,
    /// Part of the pressure a wall sends back, 0 to 1.
    pub wall: f64,
    /// Part of the pressure the floor sends back.
    pub floor: f64,
    /// Speed of sound, metres a second.
    pub speed: f64,
    /// Seconds after which echoes are no longer followed.
    pub length_s: f64,
}

/// Samples a path is smeared over: the windowed sinc that places it between two samples.
const SINC: isize = 24;

/// High end lost at each bounce: one-pole smoothing, the pole's place.
const BOUNCE_POLE: f64 = 0.25;

/// Bounces told apart in colour; more than this sound like this.
const MAX_BOUNCES: usize = 12;

impl Point {
    /// A place, metres: right, back, up.
    pub const fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Straight-line distance, metres.
    pub fn distance(self, other: Point) -> f64 {
        self.minus(other).length()
    }

    fn minus(self, other: Point) -> Point {
        Point {
            x: self.x - other.x,
            y: self.y - other.y,
            z: self.z - other.z,
        }
    }

    fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    fn dot(self, other: Point) -> f64 {
        self.x * other.x + self.y * other.y + self.z * other.z
    }
}

impl Microphone {
    /// Sensitivity towards a source, 0 to 1.
    fn gain(&self, source: Point) -> f64 {
        let (axis, towards) = (self.aim.minus(self.at), source.minus(self.at));
        0.5 + 0.5 * axis.dot(towards) / (axis.length() * towards.length())
    }
}

/// One mirrored coordinate of a source: where the image is, and how often the sound met each of the two walls.
struct Image {
    at: f64,
    low: i32,
    high: i32,
}

impl Room {
    /// What the microphone hears of a click at `source` at time zero, direct sound first. A path of one metre has gain one.
    pub fn response(&self, source: Point, microphone: &Microphone, sample_rate: f64) -> Vec<f64> {
        let length = (self.length_s * sample_rate) as usize;
        let mut by_bounces = vec![vec![0.0; length]; MAX_BOUNCES + 1];
        for x in self.images(source.x, self.size.x) {
            for y in self.images(source.y, self.size.y) {
                for z in self.images(source.z, self.size.z) {
                    let gain = self.wall.powi(x.low + x.high + y.low + y.high + z.high)
                        * self.floor.powi(z.low);
                    let image = Point {
                        x: x.at,
                        y: y.at,
                        z: z.at,
                    };
                    let bounces = (x.low + x.high + y.low + y.high + z.low + z.high) as usize;
                    let distance = image.distance(microphone.at).max(0.01);
                    let arrival = distance / self.speed * sample_rate;
                    let level = gain * microphone.gain(image) / distance;
                    place(&mut by_bounces[bounces.min(MAX_BOUNCES)], arrival, level);
                }
            }
        }
        darken(by_bounces)
    }

    fn images(&self, at: f64, size: f64) -> Vec<Image> {
        let most = (self.length_s * self.speed / (2.0 * size)).ceil() as i32 + 1;
        (-most..=most)
            .flat_map(|turn| {
                let shift = 2.0 * f64::from(turn) * size;
                [
                    Image {
                        at: shift + at,
                        low: turn.abs(),
                        high: turn.abs(),
                    },
                    Image {
                        at: shift - at,
                        low: (turn - 1).abs(),
                        high: turn.abs(),
                    },
                ]
            })
            .collect()
    }
}

/// Adds a click at a place between samples: a Hann-windowed sinc.
fn place(response: &mut [f64], arrival: f64, level: f64) {
    let middle = arrival.floor() as isize;
    if middle + SINC >= response.len() as isize {
        return;
    }
    for n in (middle - SINC + 1).max(0)..=middle + SINC {
        let offset = n as f64 - arrival;
        let window = 0.5 + 0.5 * (PI * offset / (SINC as f64 + 1.0)).cos();
        response[n as usize] += level * window * sinc(offset);
    }
}

fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-9 {
        1.0
    } else {
        (PI * x).sin() / (PI * x)
    }
}

/// Adds the bounces up, each group smoothed once more than the one before it.
fn darken(by_bounces: Vec<Vec<f64>>) -> Vec<f64> {
    let mut total = vec![0.0; by_bounces[0].len()];
    for (bounces, group) in by_bounces.into_iter().enumerate().rev() {
        total
            .iter_mut()
            .zip(&group)
            .for_each(|(total, sample)| *total += sample);
        if bounces > 0 {
            smooth(&mut total);
        }
    }
    total
}

/// One pole with no delay at low frequencies worth speaking of, and gain one at zero.
fn smooth(samples: &mut [f64]) {
    let mut held = 0.0;
    for sample in samples {
        held += (1.0 - BOUNCE_POLE) * (*sample - held);
        *sample = held;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: Room = Room {
        size: Point::new(6.0, 5.0, 3.0),
        wall: 0.8,
        floor: 0.7,
        speed: 343.0,
        length_s: 0.05,
    };
    const SOURCE: Point = Point::new(2.0, 1.5, 0.7);

    #[test]
    fn the_direct_sound_lands_where_the_tape_measure_says() {
        let at = Point::new(3.1, 2.2, 1.8);
        let response = ROOM.response(SOURCE, &Microphone { at, aim: SOURCE }, 48_000.0);
        let arrival = SOURCE.distance(at) / 343.0 * 48_000.0;
        let peak = (0..300)
            .max_by(|&a, &b| response[a].total_cmp(&response[b]))
            .unwrap();
        assert!(
            (peak as f64 - arrival).abs() <= 0.5,
            "peak {peak}, arrival {arrival}"
        );
    }

    #[test]
    fn the_floor_answers_from_its_mirror_image() {
        let room = Room { wall: 0.0, ..ROOM };
        let at = Point::new(2.0, 1.5, 1.7);
        let response = room.response(SOURCE, &Microphone { at, aim: SOURCE }, 48_000.0);
        // Straight up: direct 1.0 m, by way of the floor 2.4 m, and nothing else.
        let late = (250..2000)
            .max_by(|&a, &b| response[a].abs().total_cmp(&response[b].abs()))
            .unwrap();
        assert!(
            (late as f64 - 2.4 / 343.0 * 48_000.0).abs() < 2.0,
            "echo at {late}"
        );
    }

    #[test]
    fn a_cardioid_is_deaf_behind() {
        let at = Point::new(4.0, 1.5, 0.7);
        let away = Microphone {
            at,
            aim: Point::new(5.0, 1.5, 0.7),
        };
        let towards = Microphone { at, aim: SOURCE };
        assert!(away.gain(SOURCE).abs() < 1e-12);
        assert!((towards.gain(SOURCE) - 1.0).abs() < 1e-12);
    }
}
