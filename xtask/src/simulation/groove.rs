//! Four bars on the whole kit, played by a person: strokes, ghost notes and three milliseconds of human timing.

use super::drums::Drum;

/// Beats a minute.
pub const TEMPO: f64 = 104.0;
/// Quarter notes before the first stroke and after the last bar, for the room to be heard empty.
const LEAD_BEATS: f64 = 0.5;
const TAIL_BEATS: f64 = 2.0;
/// Four bars of four.
const BARS: usize = 4;
/// Standard deviation of a stroke's place, seconds: what a good drummer does.
const HUMAN_S: f64 = 0.003;

/// One stroke of the score.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Which drum.
    pub drum: Drum,
    /// When, seconds from the start of the take.
    pub at_s: f64,
    /// How hard, 0 to 1.
    pub velocity: f64,
}

/// Seconds of the whole take.
pub fn length_s() -> f64 {
    beats_s(LEAD_BEATS + 4.0 * BARS as f64 + TAIL_BEATS)
}

/// Where the first bar begins, seconds of the take.
pub fn first_bar_s() -> f64 {
    beats_s(LEAD_BEATS)
}

fn beats_s(beats: f64) -> f64 {
    beats * 60.0 / TEMPO
}

/// The strokes, each a little early or late.
pub fn play(random: &mut fastrand::Rng) -> Vec<Stroke> {
    let mut strokes: Vec<Stroke> = (0..BARS).flat_map(bar).collect();
    for stroke in &mut strokes {
        stroke.at_s += HUMAN_S * bell(random);
        stroke.velocity *= 1.0 + 0.08 * bell(random);
    }
    strokes
}

/// A number around zero with standard deviation one, never beyond about three.
fn bell(random: &mut fastrand::Rng) -> f64 {
    (0..12).map(|_| random.f64()).sum::<f64>() - 6.0
}

fn bar(bar: usize) -> Vec<Stroke> {
    let mut score = vec![
        (Drum::Snare, 1.0, 0.85),
        (Drum::Snare, 3.0, 0.9),
        (Drum::Kick, 0.0, 0.9),
    ];
    score.extend((0..8).map(|eighth| {
        (
            Drum::Hat,
            0.5 * f64::from(eighth),
            if eighth % 2 == 0 { 0.8 } else { 0.5 },
        )
    }));
    score.push((Drum::Snare, 2.25, 0.22));
    match bar {
        0 => score.extend([(Drum::Crash, 0.0, 0.8), (Drum::Kick, 2.0, 0.85)]),
        1 => score.extend([(Drum::Kick, 1.5, 0.7), (Drum::Kick, 2.5, 0.85)]),
        2 => score.extend([(Drum::Kick, 2.0, 0.85), (Drum::Snare, 3.75, 0.3)]),
        _ => score.extend([
            (Drum::Rack, 2.5, 0.8),
            (Drum::Rack, 2.75, 0.75),
            (Drum::Floor, 3.5, 0.85),
        ]),
    }
    score
        .into_iter()
        .map(|(drum, beat, velocity)| Stroke {
            drum,
            at_s: beats_s(LEAD_BEATS + 4.0 * bar as f64 + beat),
            velocity,
        })
        .collect()
}
