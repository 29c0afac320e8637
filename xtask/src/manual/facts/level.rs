//! Level over frequency against another example: where a comb takes out most.

use crate::audio::Sound;
use crate::manual::examples::Example;
use crate::manual::facts::beside::COMPARED_WITH;
use crate::manual::spectrum::levels_db;
use crate::sheet::{Axis, Mark, Series, draw_chart, signed};

/// Range of the drawing, dB.
const RANGE_DB: f64 = 12.0;
/// Less than this is no difference worth a figure, dB.
const LEAST_DB: f64 = 0.05;

/// The lowest band and its place; the whole curve.
pub fn figure(example: &Example, sound: &Sound, other: &Sound) -> (String, String) {
    let pairs = levels_db(sound).into_iter().zip(levels_db(other));
    let points: Vec<(f64, f64)> = pairs
        .map(|((hz, level), (_, other))| (hz, level - other))
        .collect();
    let lowest = points
        .iter()
        .copied()
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or_default();
    let highest = points
        .iter()
        .copied()
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or_default();
    let said = match lowest.1 < -LEAST_DB {
        true => format!(
            "lowest {} dB at {}, highest {} dB at {}",
            signed(lowest.1, 1),
            hertz(lowest.0),
            signed(highest.1, 1),
            hertz(highest.0)
        ),
        false => COMPARED_WITH.to_owned(),
    };
    let across = Axis::logarithmic("Hz", 60.0, 16_000.0);
    let up = Axis::linear("dB", -RANGE_DB, RANGE_DB);
    let series = [Series {
        name: "difference".to_owned(),
        mark: Mark::Accent,
        points,
    }];
    (said, draw_chart(example.title, across, up, &series))
}

/// Two digits that count: bands are a twelfth of an octave apart.
fn hertz(hz: f64) -> String {
    match hz {
        hz if hz >= 1000.0 => format!("{:.1} kHz", hz / 1000.0),
        hz => format!("{:.0} Hz", (hz / 10.0).round() * 10.0),
    }
}
