//! Snare and kick in turn, heard by two overheads and a close microphone each, with the truth known.

use plumbline_hosting::{Drum, noise};

/// Samples a second.
pub const RATE: usize = 48_000;
const EVERY: usize = RATE * 35 / 100;
/// Strokes, snare and kick in turn.
const STROKES: usize = 16;
/// The snare's gap, second minus first, samples.
pub const SNARE_GAP: f64 = 24.0;
/// The kick's.
pub const KICK_GAP: f64 = -12.0;

/// Samples after a stroke and level in first, second, and the two close microphones (kick, snare).
type Ways = [(usize, f32); 4];

const SNARE: Ways = [(250, 0.3), (274, 0.3), (150, 0.02), (10, 0.7)];
const KICK: Ways = [(280, 0.3), (268, 0.3), (10, 0.7), (150, 0.02)];

/// A snare: a 190 Hz head under wires. A kick: a 60 Hz shell with the beater's click. No two strokes are alike.
fn stroke(number: usize) -> Vec<f32> {
    let rough = noise(6_000, 500 + number as u64);
    let sample = |(n, pair): (usize, &[f32])| {
        let t = n as f32 / RATE as f32;
        let tone =
            |hz: f32, fall_s: f32| (std::f32::consts::TAU * hz * t).sin() * (-t / fall_s).exp();
        let burst = |fall_s: f32| (pair[0] + pair[1]) * (-t / fall_s).exp();
        // A drummer's strokes differ in pitch by a little.
        let bend = 1.0 + 0.01 * (number as f32 * 2.4).sin();
        let body = match number % 2 {
            0 => 0.35 * tone(200.0 * bend, 0.030) + 1.2 * burst(0.035),
            _ => 0.9 * tone(60.0 * bend, 0.060) + 0.3 * burst(0.004),
        };
        (t / 0.000_3).min(1.0) * body
    };
    rough.windows(2).enumerate().map(sample).collect()
}

/// First, second, and the close microphones of kick and snare.
pub fn kit() -> [Vec<f32>; 4] {
    let length = (STROKES + 3) * EVERY;
    let mut channels = [91, 92, 93, 94].map(|seed| {
        let floor = noise(length, seed);
        floor.iter().map(|x| 1e-4 * x).collect::<Vec<f32>>()
    });
    for number in 0..STROKES {
        let ways = if number % 2 == 0 { SNARE } else { KICK };
        for (channel, (late, gain)) in channels.iter_mut().zip(ways) {
            let at = (number + 1) * EVERY + late;
            let heard = channel[at..].iter_mut().zip(stroke(number));
            heard.for_each(|(x, y)| *x += gain * y);
        }
    }
    channels
}

/// What was found, samples.
pub fn gap_samples(drum: &Drum) -> f64 {
    drum.gap
        .as_ref()
        .map_or(f64::NAN, |gap| gap.attack_s * RATE as f64)
}
