//! The demo's session: a kit in a rehearsal barn, four microphones, one overhead too far away and its cable reversed.

use super::convolve::convolve;
use super::drums::{DRUMS, Drum};
use super::groove;
use super::room::{Microphone, Point, Room};

/// Samples a second of the demo session.
pub const SAMPLE_RATE: u32 = 48_000;
/// Air in the barn, degrees Celsius.
pub const TEMPERATURE_C: f64 = 16.0;
/// Highest peak of each microphone, full scale one: 6 dB of headroom.
const PEAK: f64 = 0.5;
/// Noise of each channel, full scale one: -80 dB.
const NOISE: f64 = 1e-4;
/// The same groove and the same noise on every machine.
const SEED: u64 = 1887;

/// Middle of the snare's batter head.
const SNARE: Point = Point::new(4.10, 2.60, 0.66);

/// Placed over the hi-hat by somebody with a tape measure.
const FIRST: Point = Point::new(3.59, 3.49, 1.74);
/// Placed over the floor tom by eye.
const SECOND: Point = Point::new(5.50, 2.44, 1.50);
/// A hand's breadth over the snare's rim.
const SNARE_SPOT: Point = Point::new(4.02, 2.47, 0.72);
/// In front of the kick.
const KICK_SPOT: Point = Point::new(4.56, 3.62, 0.33);

/// The session as the recorder wrote it.
pub struct Session {
    /// First and second overhead.
    pub overheads: [Vec<f32>; 2],
    /// The snare's microphone.
    pub snare: Vec<f32>,
    /// The kick's microphone.
    pub kick: Vec<f32>,
}

/// What the tape measure says, seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    /// Second minus first, snare.
    pub gap_s: f64,
    /// First overhead minus snare microphone.
    pub spot_to_first_s: f64,
    /// Second overhead minus snare microphone.
    pub spot_to_second_s: f64,
    /// Second minus first, kick.
    pub kick_gap_s: f64,
    /// First overhead minus kick microphone.
    pub kick_to_first_s: f64,
    /// Second overhead minus kick microphone.
    pub kick_to_second_s: f64,
}

/// Where each drum stands: middle of the head or the bell.
pub fn position(drum: Drum) -> Point {
    match drum {
        Drum::Snare => SNARE,
        Drum::Kick => Point::new(4.52, 3.20, 0.30),
        Drum::Hat => Point::new(3.65, 2.74, 0.92),
        Drum::Rack => Point::new(4.13, 3.10, 0.84),
        Drum::Floor => Point::new(4.84, 2.36, 0.62),
        Drum::Crash => Point::new(5.09, 2.99, 1.12),
    }
}

/// The tape measure: straight lines through the air of the barn.
pub fn truth() -> Truth {
    let time = |drum, microphone| position(drum).distance(microphone) / room().speed;
    Truth {
        gap_s: time(Drum::Snare, SECOND) - time(Drum::Snare, FIRST),
        spot_to_first_s: time(Drum::Snare, FIRST) - time(Drum::Snare, SNARE_SPOT),
        spot_to_second_s: time(Drum::Snare, SECOND) - time(Drum::Snare, SNARE_SPOT),
        kick_gap_s: time(Drum::Kick, SECOND) - time(Drum::Kick, FIRST),
        kick_to_first_s: time(Drum::Kick, FIRST) - time(Drum::Kick, KICK_SPOT),
        kick_to_second_s: time(Drum::Kick, SECOND) - time(Drum::Kick, KICK_SPOT),
    }
}

/// Records the four bars. The second overhead's cable is reversed.
pub fn record() -> Session {
    let mut random = fastrand::Rng::with_seed(SEED);
    let dry = play_dry(&mut random);
    let mut record = |microphone: Microphone| preamplified(mix(&dry, &microphone), &mut random);
    let first = record(over_the_kit(FIRST));
    let second = record(over_the_kit(SECOND));
    Session {
        overheads: [first, second.into_iter().map(|sample| -sample).collect()],
        snare: record(Microphone {
            at: SNARE_SPOT,
            aim: SNARE,
        }),
        kick: record(Microphone {
            at: KICK_SPOT,
            aim: position(Drum::Kick),
        }),
    }
}

/// Plank walls and a boarded floor; ISO 9613-1 for the air.
fn room() -> Room {
    Room {
        size: Point::new(9.4, 7.1, 4.6),
        wall: 0.72,
        floor: 0.62,
        speed: 343.2 * ((TEMPERATURE_C + 273.15) / 293.15).sqrt(),
        length_s: 0.22,
    }
}

/// A pair of small cardioids looking down at the middle of the kit.
fn over_the_kit(at: Point) -> Microphone {
    Microphone {
        at,
        aim: Point::new(4.4, 2.9, 0.6),
    }
}

/// One track a drum, as heard one metre away in the open.
fn play_dry(random: &mut fastrand::Rng) -> Vec<(Drum, Vec<f64>)> {
    let rate = f64::from(SAMPLE_RATE);
    let strokes = groove::play(random);
    let frames = (groove::length_s() * rate) as usize;
    DRUMS
        .into_iter()
        .map(|drum| {
            let mut track = vec![0.0; frames];
            for stroke in strokes.iter().filter(|stroke| stroke.drum == drum) {
                super::drums::strike(
                    drum,
                    stroke.velocity,
                    stroke.at_s * rate,
                    rate,
                    random,
                    &mut track,
                );
            }
            (drum, track)
        })
        .collect()
}

fn mix(dry: &[(Drum, Vec<f64>)], microphone: &Microphone) -> Vec<f64> {
    let mut sum = vec![0.0; dry[0].1.len()];
    for (drum, track) in dry {
        let response = room().response(position(*drum), microphone, f64::from(SAMPLE_RATE));
        convolve(track, &response)
            .iter()
            .zip(&mut sum)
            .for_each(|(sample, sum)| *sum += sample);
    }
    sum
}

/// The signal behind the preamplifier: at its level, with its noise.
fn preamplified(samples: Vec<f64>, random: &mut fastrand::Rng) -> Vec<f32> {
    let peak = samples
        .iter()
        .fold(0.0f64, |peak, sample| peak.max(sample.abs()));
    samples
        .into_iter()
        .map(|sample| (sample * PEAK / peak + NOISE * (2.0 * random.f64() - 1.0)) as f32)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_overhead_is_a_hands_breadth_too_far() {
        let far = SNARE.distance(SECOND) - SNARE.distance(FIRST);
        assert!((0.08..0.20).contains(&far), "{far} m");
        assert!((truth().gap_s * room().speed - far).abs() < 1e-12);
    }
}
