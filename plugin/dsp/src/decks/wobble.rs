//! Wow and flutter of the moving deck: lines of its rotating parts and seeded noise, a pure function of song time.

use std::f64::consts::TAU;

use crate::math::sine::sine_of_turns;
use crate::units::amplitude;

/// Weighting of AES6-2008 (the same as IEC 60386): hertz, decibels.
const WEIGHTING: [(f64, f64); 17] = [
    (0.1, -48.0),
    (0.2, -30.6),
    (0.315, -19.7),
    (0.4, -15.0),
    (0.63, -8.4),
    (0.8, -6.0),
    (1.0, -4.2),
    (1.6, -1.8),
    (2.0, -0.9),
    (4.0, 0.0),
    (6.3, -0.9),
    (10.0, -2.1),
    (20.0, -5.9),
    (40.0, -10.4),
    (63.0, -14.2),
    (100.0, -17.3),
    (200.0, -23.0),
];

/// AES6-2008 reads the value that is passed 5 % of the time: 1.96 standard deviations of a normal distribution.
const TWO_SIGMA: f64 = 1.96;
/// Points a second that are computed; a cubic joins them. Sixteen or more to a period of the fastest line.
const WOW_KNOTS: f64 = 128.0;
/// See [`WOW_KNOTS`].
const FLUTTER_KNOTS: f64 = 1024.0;
/// Noise is a comb of this many lines, unevenly spaced.
const NOISE_LINES: usize = 16;

/// Weighting in decibels at any frequency: straight lines over the logarithm of frequency, level beyond the ends.
pub fn weighting_db(hz: f64) -> f64 {
    let above = WEIGHTING.iter().position(|(f, _)| *f >= hz);
    let last = WEIGHTING.len() - 1;
    let above = above.unwrap_or(last).clamp(1, last);
    let ((f0, db0), (f1, db1)) = (WEIGHTING[above - 1], WEIGHTING[above]);
    let part = (hz / f0).ln() / (f1 / f0).ln();
    db0 + (db1 - db0) * part.clamp(0.0, 1.0)
}

/// How much of each, as AES6 weighted readings: 0.0005 is 0.05 %.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct WobbleAmounts {
    /// Slow: the reels, below 5 Hz.
    pub wow: f64,
    /// Fast: capstan and roller, from 5 Hz up.
    pub flutter: f64,
}

/// One line: an offset of `place` · sin(2π (`hz` t + `phase`)) at a weighted reading of 1.
#[derive(Clone, Copy, Debug)]
struct Line {
    hz: f64,
    /// Swing of the offset, seconds.
    place: f64,
    /// Greatest change of the offset from one point to the next, seconds.
    rise: f64,
    /// Turns.
    phase: f64,
}

/// The offset at one point in time.
#[derive(Clone, Copy, Debug, Default)]
struct Knot {
    /// Seconds of offset.
    place: f64,
    /// Its slope, seconds from this point to the next.
    rise: f64,
}

/// One group of lines with the two points around the present.
#[derive(Clone, Debug)]
struct Group {
    lines: Vec<Line>,
    /// Points a second.
    knots: f64,
    /// Which point since the song's start comes first.
    index: i64,
    around: [Knot; 2],
}

/// The moving deck's own deviation.
#[derive(Clone, Debug)]
pub struct Wobble {
    wow: Group,
    flutter: Group,
}

impl Default for Wobble {
    fn default() -> Self {
        Self::new()
    }
}

impl Wobble {
    /// The same deck every time.
    pub fn new() -> Self {
        // Once-around of a reel half full at 38 cm/s and its second harmonic (computed from v / πD, D = 17 cm).
        let reel = [(0.71, 0.4), (1.42, 0.15)];
        // Capstan of 10 mm and a pinch roller of 24 mm at 38 cm/s, computed the same way; shares are from memory.
        let shaft = [(12.1, 0.3), (5.05, 0.15)];
        Self {
            wow: Group::new(&reel, (0.35, 4.5), WOW_KNOTS, 0x70_77),
            flutter: Group::new(&shaft, (5.5, 60.0), FLUTTER_KNOTS, 0xF1_07),
        }
    }

    /// Offset that the deck's wobble adds at `song_s` seconds of the song, seconds.
    pub fn offset_s(&mut self, song_s: f64, amounts: WobbleAmounts) -> f64 {
        let mut offset = 0.0;
        if amounts.wow > 0.0 {
            offset += amounts.wow * self.wow.at(song_s);
        }
        if amounts.flutter > 0.0 {
            offset += amounts.flutter * self.flutter.at(song_s);
        }
        offset
    }
}

impl Group {
    /// `shafts`: hertz and share of the weighted power; the rest is noise between the `noise` edges.
    fn new(shafts: &[(f64, f64)], noise: (f64, f64), knots: f64, seed: u64) -> Self {
        let mut random = Random(seed);
        let noise_share = 1.0 - shafts.iter().map(|(_, share)| share).sum::<f64>();
        let each = noise_share / NOISE_LINES as f64;
        let noise = (0..NOISE_LINES).map(|n| {
            let place = (n as f64 + random.next()) / NOISE_LINES as f64;
            (noise.0 * (noise.1 / noise.0).powf(place), each)
        });
        let lines: Vec<_> = shafts.iter().copied().chain(noise).collect();
        let line = |(hz, share): (f64, f64)| {
            let speed = (2.0 * share).sqrt() / TWO_SIGMA / amplitude(weighting_db(hz));
            Line {
                hz,
                place: speed / (TAU * hz),
                rise: speed / knots,
                phase: random.next(),
            }
        };
        Self {
            lines: lines.into_iter().map(line).collect(),
            knots,
            index: i64::MIN,
            around: [Knot::default(); 2],
        }
    }

    #[inline]
    fn at(&mut self, song_s: f64) -> f64 {
        let place = song_s * self.knots;
        let below = place as i64;
        let index = if below as f64 > place {
            below - 1
        } else {
            below
        };
        if index != self.index {
            self.move_to(index);
        }
        between(&self.around, place - index as f64)
    }

    fn move_to(&mut self, index: i64) {
        let first = match index == self.index.saturating_add(1) {
            true => self.around[1],
            false => self.knot(index),
        };
        self.around = [first, self.knot(index + 1)];
        self.index = index;
    }

    fn knot(&self, index: i64) -> Knot {
        let seconds = index as f64 / self.knots;
        let mut knot = Knot::default();
        for line in &self.lines {
            let turns = line.hz * seconds + line.phase;
            knot.place += line.place * sine_of_turns(turns);
            knot.rise += line.rise * sine_of_turns(turns + 0.25);
        }
        knot
    }
}

/// Cubic through both points with their rises (Hermite).
#[inline]
fn between(knots: &[Knot; 2], part: f64) -> f64 {
    let [a, b] = knots;
    let step = b.place - a.place;
    let bend = a.rise + b.rise - 2.0 * step;
    a.place + part * (a.rise + part * (step - a.rise - bend + part * bend))
}

/// Seeded numbers from 0 to 1 (Knuth's 64-bit linear congruence).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BOTH: WobbleAmounts = WobbleAmounts {
        wow: 0.001,
        flutter: 0.001,
    };

    #[test]
    fn it_depends_on_song_time_alone() {
        let mut played = Wobble::new();
        let from_start: Vec<f64> = (0..200_000)
            .map(|n| played.offset_s(f64::from(n) / 48_000.0, BOTH))
            .collect();
        let mut jumped = Wobble::new();
        for n in (0..200_000).rev().step_by(777) {
            let got = jumped.offset_s(f64::from(n) / 48_000.0, BOTH);
            assert_eq!(got, from_start[n as usize]);
        }
    }

    #[test]
    fn the_most_wow_stays_within_the_decks_room() {
        let mut wobble = Wobble::new();
        let most = WobbleAmounts {
            wow: 0.005,
            flutter: 0.005,
        };
        let swings = (0..600_000).map(|n| wobble.offset_s(f64::from(n) / 100.0, most).abs());
        let widest = swings.fold(0.0, f64::max);
        assert!(widest < 0.012, "{widest}");
    }

    #[test]
    fn the_cubic_is_as_good_as_the_sum() {
        let wobble = Wobble::new();
        for group in [wobble.wow, wobble.flutter] {
            let mut group = group;
            // The error of a Hermite cubic is at most h⁴ / 384 times the fourth derivative.
            let bend = |l: &Line| l.place * (TAU * l.hz / group.knots).powi(4);
            let bound = group.lines.iter().map(bend).sum::<f64>() / 384.0;
            // Seconds for a reading of 1 (100 %); at 0.1 % a thousandth of it, 0.00003 of a sample at 48 kHz.
            assert!(bound < 6e-7, "{bound}");
            for n in 0..500 {
                let seconds = 3.0 + f64::from(n) * 0.000_37;
                let exact: f64 = group
                    .lines
                    .iter()
                    .map(|l| l.place * (TAU * (l.hz * seconds + l.phase)).sin())
                    .sum();
                assert!((group.at(seconds) - exact).abs() < bound);
            }
        }
    }
}
