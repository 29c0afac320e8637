//! How alike the two tracks are over lag, and how much later the second is than in another example.

use plumbline_dsp::meters::correlation::correlation;

use crate::audio::Sound;
use crate::manual::examples::Example;
use crate::manual::facts::beside::beside;
use crate::sheet::{Axis, draw_chart, signed};

/// Lags that are looked at, samples to either side.
const MOST: usize = 48;
/// Speed of sound for lengths, m/s: air of 20 degrees.
const SOUND_M_S: f64 = 343.2;

/// The second's delay against the other example, and the correlation of the tracks at lag 0; the curve over lag.
pub fn figure(example: &Example, sound: &Sound, other: &Sound) -> (String, String) {
    let rate = f64::from(sound.sample_rate);
    let [these, those] = [sound, other].map(steep);
    let moved = |channel: usize| delay(&other.channels[channel], &sound.channels[channel]);
    let later_s = (moved(1) - moved(0)) / rate;
    let said = format!(
        "second later by {:.3} ms ({:.1} cm), correlation of the tracks {}",
        later_s.abs() * 1e3,
        later_s.abs() * SOUND_M_S * 100.0,
        signed(correlation(&sound.channels[0], &sound.channels[1]), 2)
    );
    let curve = |[first, second]: &[Vec<f32>; 2]| -> Vec<(f64, f64)> {
        let lags = -(MOST as i32)..=MOST as i32;
        lags.map(|lag| (f64::from(lag) / rate * 1e3, at(first, second, lag)))
            .collect()
    };
    let across = Axis::linear("ms, second after first", -1.0, 1.0);
    let up = Axis::linear("correlation of fronts", -1.0, 1.0);
    let series = beside(example, curve(&these), curve(&those));
    (said, draw_chart(example.title, across, up, &series))
}

/// Differences of neighbours: without the bass, which hardly changes over a lag, the front of a stroke shows.
fn steep(sound: &Sound) -> [Vec<f32>; 2] {
    [0, 1].map(|channel: usize| {
        let pairs = sound.channels[channel].windows(2);
        pairs.map(|pair| pair[1] - pair[0]).collect()
    })
}

/// Correlation of two rows, the second read `lag` samples later.
fn at(first: &[f32], second: &[f32], lag: i32) -> f64 {
    let lag_frames = lag.unsigned_abs() as usize;
    let frames = first.len() - lag_frames;
    match lag >= 0 {
        true => correlation(&first[..frames], &second[lag_frames..]),
        false => correlation(&first[lag_frames..], &second[..frames]),
    }
}

/// How much later one row is than another that it was made from, samples, whatever its polarity: the top of a parabola.
fn delay(from: &[f32], to: &[f32]) -> f64 {
    let lags = -(MOST as i32)..=MOST as i32;
    let alike = |lag: i32| at(from, to, lag).abs();
    let top = lags
        .max_by(|a, b| alike(*a).total_cmp(&alike(*b)))
        .unwrap_or(0);
    let [before, here, after] = [-1, 0, 1].map(|step| alike(top + step));
    let bend = before - 2.0 * here + after;
    let aside = if bend < 0.0 {
        0.5 * (before - after) / bend
    } else {
        0.0
    };
    f64::from(top) + aside
}
