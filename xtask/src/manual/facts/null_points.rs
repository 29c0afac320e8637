//! Where two decks are together: how alike an example is to the fixed deck alone, over time.

use plumbline_dsp::meters::correlation::Powers;

use crate::audio::Sound;
use crate::manual::examples::Example;
use crate::manual::recipe::bars;
use crate::sheet::{Axis, Mark, Ruling, Series, draw_chart};

/// Seconds of a window, and from one to the next.
const WINDOW_S: f64 = 0.020;
const STEP_S: f64 = 0.005;
/// Unlike by less than this, decks are together, dB.
const TOGETHER_DB: f64 = -15.0;
/// Together for longer than this they rest, or the decks are off; seconds.
const REST_S: f64 = 0.4;
/// Bottom of the drawing, dB.
const FLOOR_DB: f64 = -40.0;

/// The null points and their places in the song; the curve.
pub fn figure(example: &Example, sound: &Sound, other: &Sound) -> (String, String) {
    let curve = unlike(sound, other);
    let song = bars();
    let nulls: Vec<String> = passes(&curve)
        .into_iter()
        .map(|at_s| format!("{at_s:.2} s ({})", song.words(at_s)))
        .collect();
    let said = match (example.name == example.against, nulls.is_empty()) {
        (true, _) => "what the others are compared with".to_owned(),
        (_, true) => "no null point".to_owned(),
        (_, false) => format!("null points at {}", nulls.join(", ")),
    };
    let across = Axis {
        name: "s",
        from: 0.0,
        to: 10.0,
        ruling: Ruling::Linear,
    };
    let up = Axis {
        name: "dB unlike",
        from: FLOOR_DB,
        to: 0.0,
        ruling: Ruling::Linear,
    };
    let points = curve
        .iter()
        .map(|(at_s, part)| (*at_s, db(*part).max(FLOOR_DB)))
        .collect();
    let series = [Series {
        name: "unlike decks-off".to_owned(),
        mark: Mark::Accent,
        points,
    }];
    (said, draw_chart(example.title, across, up, &series))
}

fn db(part: f64) -> f64 {
    10.0 * part.max(1e-9).log10()
}

/// Seconds, and the part of the power that is not the other's: 0 where one is the other at some gain. Treble weighs more, by
/// the difference of neighbours, because there a small offset shows.
fn unlike(sound: &Sound, other: &Sound) -> Vec<(f64, f64)> {
    let rate = f64::from(sound.sample_rate);
    let [window, step] = [WINDOW_S, STEP_S].map(|seconds| (seconds * rate) as usize);
    let steep = |channel: &Vec<f32>| -> Vec<f32> {
        channel.windows(2).map(|pair| pair[1] - pair[0]).collect()
    };
    let [these, those] =
        [sound, other].map(|sound| sound.channels.iter().map(steep).collect::<Vec<_>>());
    let frames = these[0].len();
    let part = |from: usize| {
        let mut sums = Powers::default();
        for (this, that) in these.iter().zip(&those) {
            let powers = Powers::of(&this[from..from + window], &that[from..from + window]);
            sums.first += powers.first;
            sums.second += powers.second;
            sums.shared += powers.shared;
        }
        (
            (from as f64 + 0.5 * window as f64) / rate,
            1.0 - sums.correlation().powi(2),
        )
    };
    (0..frames - window).step_by(step).map(part).collect()
}

/// Middles of the stretches where the decks are together and pass by.
fn passes(curve: &[(f64, f64)]) -> Vec<f64> {
    let stretches = curve
        .split(|(_, part)| db(*part) >= TOGETHER_DB)
        .filter(|stretch| !stretch.is_empty());
    let passes = stretches.filter(|stretch| stretch.len() as f64 * STEP_S < REST_S);
    passes.map(middle).collect()
}

/// Near a null point what is left grows with the square of the offset: its weight is what is not left.
fn middle(stretch: &[(f64, f64)]) -> f64 {
    let top = 10f64.powf(TOGETHER_DB / 10.0);
    let (mut sum, mut weights) = (0.0, 0.0);
    for (at_s, part) in stretch {
        sum += at_s * (top - part);
        weights += top - part;
    }
    sum / weights
}
