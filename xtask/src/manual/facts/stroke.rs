//! The loudest stroke beside the same one of another example, and the crest of the whole.

use crate::audio::Sound;
use crate::manual::examples::Example;
use crate::manual::facts::beside::beside;
use crate::sheet::{Axis, draw_chart};

/// What is drawn before the peak and after it, seconds, and one point of the drawing.
const BEFORE_S: f64 = 0.005;
const AFTER_S: f64 = 0.045;
const POINT_S: f64 = 0.000_25;
/// Top of the drawing, full scale one.
const TOP: f64 = 0.9;

/// Crest and peak; both envelopes.
pub fn figure(example: &Example, sound: &Sound, other: &Sound) -> (String, String) {
    let said = format!("crest {:.1} dB", crest_db(sound));
    let at = loudest(other);
    let across = Axis::linear("ms", -BEFORE_S * 1e3, AFTER_S * 1e3);
    let up = Axis::linear("full scale", 0.0, TOP);
    let series = beside(example, envelope(sound, at), envelope(other, at));
    (said, draw_chart(example.title, across, up, &series))
}

/// Peak over the mean power of all channels, dB.
fn crest_db(sound: &Sound) -> f64 {
    let samples = sound.channels.iter().flatten();
    let count = samples.clone().count() as f64;
    let power: f64 = samples
        .map(|sample| f64::from(*sample).powi(2))
        .sum::<f64>()
        / count;
    20.0 * f64::from(sound.peak()).log10() - 10.0 * power.log10()
}

/// Frame of the largest sample.
fn loudest(sound: &Sound) -> usize {
    let level = |frame: &usize| {
        sound
            .channels
            .iter()
            .map(|channel| channel[*frame].abs())
            .fold(0.0, f32::max)
    };
    (0..sound.channels[0].len())
        .max_by(|a, b| level(a).total_cmp(&level(b)))
        .unwrap_or(0)
}

/// Milliseconds after `at`, and the largest sample of a quarter of one.
fn envelope(sound: &Sound, at: usize) -> Vec<(f64, f64)> {
    let rate = f64::from(sound.sample_rate);
    let frames = |seconds: f64| (seconds * rate) as usize;
    let from = at.saturating_sub(frames(BEFORE_S));
    let to = (at + frames(AFTER_S)).min(sound.channels[0].len());
    let point = |start: usize| {
        let end = (start + frames(POINT_S)).min(to);
        let all = sound
            .channels
            .iter()
            .flat_map(|channel| &channel[start..end]);
        let peak = all.fold(0f32, |most, sample| most.max(sample.abs()));
        ((start as f64 - at as f64) / rate * 1e3, f64::from(peak))
    };
    (from..to).step_by(frames(POINT_S)).map(point).collect()
}
