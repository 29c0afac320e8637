//! Where the moving deck is, read from an example and the fixed deck alone: the delay whose sum with it fits best.

use plumbline_dsp::meters::correlation::Powers;

use crate::audio::Sound;
use crate::manual::examples::Example;
use crate::manual::facts::beside::COMPARED_WITH;
use crate::manual::recipe::bars;
use crate::sheet::{Axis, Mark, Series, draw_chart};

/// Seconds of a window, and from one to the next.
const WINDOW_S: f64 = 0.040;
const STEP_S: f64 = 0.050;
/// Offsets that are tried, seconds to either side: what the examples' Range allows, and a little.
const MOST_S: f64 = 0.0035;
/// What the best fit leaves at most, a part of the power: -3.5 dB. Nothing but noise leaves a half.
const MOST_LEFT: f64 = 0.45;
/// Steepest course between two readings (a deck braked as hard as Drag goes), and the longest time without one, in which a null point is still told.
const STEEPEST: f64 = 0.03;
const LONGEST_S: f64 = 0.8;

/// The null points and their places in the song; the offset over time.
pub fn figure(example: &Example, sound: &Sound, other: &Sound) -> (String, String) {
    let course = offsets(sound, other);
    let song = bars();
    let nulls: Vec<String> = nulls(&course)
        .into_iter()
        .map(|at_s| format!("bar {:.2}", song.bar(at_s)))
        .collect();
    let said = match (example.name == example.against, nulls.is_empty()) {
        (true, _) => COMPARED_WITH.to_owned(),
        (_, true) => "no null point".to_owned(),
        (_, false) => format!("null points at {}", nulls.join(", ")),
    };
    let across = Axis::linear("s", 0.0, 10.0);
    let up = Axis::linear("offset, ms", -MOST_S * 1e3, MOST_S * 1e3);
    let points = course
        .iter()
        .map(|(at_s, offset_s)| (*at_s, offset_s * 1e3))
        .collect();
    let series = [Series {
        name: "read from the file".to_owned(),
        mark: Mark::Dots,
        points,
    }];
    (said, draw_chart(example.title, across, up, &series))
}

/// Seconds and offset in seconds, where one fits.
fn offsets(sound: &Sound, other: &Sound) -> Vec<(f64, f64)> {
    let rate = f64::from(sound.sample_rate);
    let [window, step, most] = [WINDOW_S, STEP_S, MOST_S].map(|seconds| (seconds * rate) as usize);
    let frames = sound.channels[0].len();
    let starts = (most..frames - window - most).step_by(step);
    let read = |start: usize| {
        let lags = -(most as i32)..=most as i32;
        let fits = lags.map(|lag| (lag, left(sound, other, start..start + window, lag)));
        let (lag, left) = fits.min_by(|a, b| a.1.total_cmp(&b.1))?;
        let middle_s = (start as f64 + 0.5 * window as f64) / rate;
        (left < MOST_LEFT).then_some((middle_s, f64::from(lag) / rate))
    };
    starts.filter_map(read).collect()
}

/// The part of the power that is left when the fixed deck and its copy `lag` samples later are taken out at the best gain.
fn left(sound: &Sound, fixed: &Sound, at: std::ops::Range<usize>, lag: i32) -> f64 {
    let moved = (at.start as i64 - i64::from(lag)) as usize;
    let mut sums = Powers::default();
    for (heard, fixed) in sound.channels.iter().zip(&fixed.channels) {
        let copy = &fixed[moved..moved + at.len()];
        let both: Vec<f32> = fixed[at.clone()]
            .iter()
            .zip(copy)
            .map(|(a, b)| a + b)
            .collect();
        let powers = Powers::of(&heard[at.clone()], &both);
        sums.first += powers.first;
        sums.second += powers.second;
        sums.shared += powers.shared;
    }
    1.0 - sums.correlation().powi(2)
}

/// Where the course goes from one side to the other. A deck that rests beside the other, or is off, is no null point.
fn nulls(course: &[(f64, f64)]) -> Vec<f64> {
    let aside: Vec<&(f64, f64)> = course
        .iter()
        .filter(|(_, offset_s)| *offset_s != 0.0)
        .collect();
    let pairs = aside.windows(2).map(|pair| (pair[0], pair[1]));
    let crossings = pairs.filter(|(before, after)| {
        let (time_s, way_s) = (after.0 - before.0, (after.1 - before.1).abs());
        before.1 * after.1 < 0.0 && time_s <= LONGEST_S && way_s <= STEEPEST * time_s
    });
    crossings
        .map(|(before, after)| before.0 + (after.0 - before.0) * before.1 / (before.1 - after.1))
        .collect()
}
