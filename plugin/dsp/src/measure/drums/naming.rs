//! Names a drum by physics: where its energy lies, how loud its body is, how often it is struck.

use crate::channels::CHANNELS;
use crate::measure::hit::stroke::{BANDS_HZ, BODY, Stroke};
use crate::measurement::{DrumKind, KINDS, Signature};

const BANDS: usize = BANDS_HZ.len();
/// Levels are not told below this, dB.
const FLOOR_DB: f64 = -60.0;

/// A snare's wires and upper modes against its body, dB: middle between snares and drums without wires, and its slope.
const WIRED_DB: (f64, f64) = (-12.5, 2.0);
/// A kick's shell against its body in overheads that stand over the kit.
const DEEP_DB: (f64, f64) = (-8.5, 2.0);
/// A cymbal's top against what body it has.
const BRIGHT_DB: (f64, f64) = (0.0, 3.0);
/// What body a cymbal has, against the loudest drum's: a drum under a loud cymbal is bright, and still a drum.
const BODILESS_DB: (f64, f64) = (-20.0, 2.0);

/// What a drum's strokes have in common.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Features {
    pub hits: usize,
    /// Middle level of each band in the overheads against the body, dB.
    pub bands_db: [f64; BANDS],
    /// Middle level of each band in the spot against the overheads, dB.
    pub spot_db: [f64; BANDS],
    /// Level of the body among the louder half of its strokes, dB full scale.
    pub body_db: f64,
    /// Strokes as loud as the loudest count one, softer ones less.
    pub effective: f64,
    /// Mean energy of all strokes, both overheads.
    pub energy: f64,
    pub signature: Signature,
}

/// What the drums of a kit are compared with.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Most {
    /// Level of the loudest body, dB full scale.
    pub body_db: f64,
    /// Strokes of the drum with most, counted as [`Features::effective`].
    pub strokes: f64,
}

impl Most {
    pub(crate) fn of<'a>(drums: impl Iterator<Item = &'a Features>) -> Self {
        let nothing = Self {
            body_db: f64::NEG_INFINITY,
            strokes: 0.0,
        };
        drums.fold(nothing, |most, drum| Self {
            body_db: most.body_db.max(drum.body_db),
            strokes: most.strokes.max(drum.effective),
        })
    }
}

fn db(power: f64) -> f64 {
    10.0 * power.max(1e-20).log10()
}

/// The level of bands together.
fn sum_db(bands_db: [f64; BANDS]) -> f64 {
    db(bands_db.iter().map(|db| 10f64.powf(0.1 * db)).sum())
}

impl Features {
    pub(crate) fn of<'a>(strokes: impl Iterator<Item = &'a Stroke> + Clone) -> Self {
        let pair = |stroke: &Stroke| stroke.energy[0].body + stroke.energy[1].body;
        let mut values = Values::default();
        let mut middle = |value: &dyn Fn(&Stroke) -> f64| values.middle(strokes.clone().map(value));
        let band = |stroke: &Stroke, band: usize, channels: std::ops::Range<usize>| -> f64 {
            stroke.energy[channels].iter().map(|e| e.bands[band]).sum()
        };
        let bands_db = std::array::from_fn(|n| {
            db(middle(&|s| band(s, n, 0..2) / pair(s).max(1e-20))).max(FLOOR_DB)
        });
        let spot_db = std::array::from_fn(|n| {
            db(middle(&|s| {
                let heard: f64 = s.energy[..2].iter().map(|e| e.most(n)).sum();
                band(s, n, 2..CHANNELS) / (heard + 1e-14)
            }))
            .max(FLOOR_DB)
        });
        let levels = std::array::from_fn(|n| {
            db(middle(&|s| {
                s.energy[n / BANDS].bands[n % BANDS] / pair(s).max(1e-20)
            })) as f32
        });
        let loud = values.upper_quarter(strokes.clone().map(pair));
        let loudest = strokes.clone().map(pair).fold(1e-20, f64::max);
        let effective = strokes
            .clone()
            .map(|s| (2.0 * (pair(s) / loudest).sqrt()).min(1.0));
        let hits = strokes.clone().count();
        let whole = |s: &Stroke| (0..BANDS).map(|n| band(s, n, 0..2)).sum::<f64>();
        Self {
            hits,
            bands_db,
            spot_db,
            body_db: db(loud),
            effective: effective.sum(),
            energy: strokes.clone().map(whole).sum::<f64>(),
            signature: signature(levels),
        }
    }

    /// How much a drum speaks for being the snare.
    pub(crate) fn snare(&self, most: Most) -> f64 {
        let [shell, body, upper, wires, top] = self.bands_db;
        let tilt = (upper + wires) / 2.0 - shell;
        let bright = top - body;
        (tilt + 3.0).clamp(-10.0, 6.0) / 3.0
            + 2.0 * (enough(self.effective) / enough(most.strokes)).ln()
            + (bright + 22.0).clamp(-8.0, 6.0) / 4.0
            + (self.body_db - most.body_db + 10.0).clamp(-12.0, 0.0) / 2.0
            + (-(bright + 3.0)).clamp(-10.0, 0.0) / 3.0
    }

    /// Probability of each of [`crate::measurement::KINDS`].
    pub(crate) fn probabilities(&self, most: Most) -> [f32; 4] {
        let [shell, body, upper, wires, top] = self.bands_db;
        let wired = ((upper + wires) / 2.0 - body - WIRED_DB.0) / WIRED_DB.1;
        let deep = (shell - body - DEEP_DB.0) / DEEP_DB.1;
        let bright = (top - body - BRIGHT_DB.0) / BRIGHT_DB.1;
        let bodiless = (BODILESS_DB.0 - self.body_db + most.body_db) / BODILESS_DB.1;
        let often = (enough(self.effective) / enough(most.strokes)).ln();
        let drum = -deep.max(0.0) - bodiless.max(0.0);
        let snare = wired + drum + often;
        let tom = drum - wired;
        let odds = [snare, deep - wired + often, tom, 2.0 * bright.min(bodiless)];
        let weights = odds.map(|odds| odds.clamp(-8.0, 8.0).exp());
        let sum: f64 = weights.iter().sum();
        weights.map(|weight| (weight / sum) as f32)
    }

    /// Level of all bands in the overheads, dB.
    pub(crate) fn level_db(&self) -> f64 {
        self.body_db + sum_db(self.bands_db)
    }

    /// The same in the spot.
    pub(crate) fn level_in_spot_db(&self) -> f64 {
        let in_spot = std::array::from_fn(|n| self.bands_db[n] + self.spot_db[n]);
        self.body_db + sum_db(in_spot)
    }

    /// How near the spot stands, dB: its attack band against the overheads'.
    pub(crate) fn near_db(&self) -> f64 {
        self.spot_db[BODY..].iter().sum::<f64>() / (BANDS - BODY) as f64
    }
}

/// Strokes beyond eight say nothing more about which drum it is.
fn enough(strokes: f64) -> f64 {
    strokes.clamp(0.5, 8.0)
}

fn signature(mut levels_db: [f32; 10]) -> Signature {
    let mean = levels_db.iter().sum::<f32>() / levels_db.len() as f32;
    for level in &mut levels_db {
        *level = (*level - mean).clamp(-40.0, 40.0);
    }
    Signature { levels_db }
}

/// Scratch for middle values.
struct Values([f64; crate::measure::hit::window::MOST_STROKES]);

impl Default for Values {
    fn default() -> Self {
        Self([0.0; crate::measure::hit::window::MOST_STROKES])
    }
}

impl Values {
    fn sorted(&mut self, values: impl Iterator<Item = f64>) -> &[f64] {
        let count = self
            .0
            .iter_mut()
            .zip(values)
            .map(|(out, x)| *out = x)
            .count();
        self.0[..count].sort_unstable_by(f64::total_cmp);
        &self.0[..count]
    }

    fn middle(&mut self, values: impl Iterator<Item = f64>) -> f64 {
        let sorted = self.sorted(values);
        sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
    }

    fn upper_quarter(&mut self, values: impl Iterator<Item = f64>) -> f64 {
        let sorted = self.sorted(values);
        sorted.get(sorted.len() * 3 / 4).copied().unwrap_or(0.0)
    }
}

/// The likeliest of [`KINDS`].
pub(crate) fn likeliest(probabilities: &[f32; 4]) -> DrumKind {
    let likelier = |best: usize, n: usize| {
        if probabilities[n] > probabilities[best] {
            n
        } else {
            best
        }
    };
    KINDS[(0..KINDS.len()).fold(0, likelier)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::hit::stroke::Energy;
    use crate::measure::hit::window::Window;

    /// Levels as a simulated room and a real groove had them (`tests/measured`).
    #[test]
    fn a_drum_under_a_loud_cymbal_is_still_a_drum() {
        for (kind, body_db, loudest_db, bands_db) in [
            // A ride on every beat, 10 dB over the snare's attack.
            (DrumKind::Snare, -44.8, -38.0, [-12.6, 0.4, -1.1, 3.6, 13.1]),
            (DrumKind::Kick, -38.0, -38.0, [4.2, -0.1, -17.9, -6.0, 4.1]),
            // Closed hats alone.
            (DrumKind::Cymbal, -48.2, -21.7, [-9.9, 1.2, -0.1, 2.4, 9.3]),
        ] {
            let drum = Features {
                effective: 8.0,
                body_db,
                bands_db,
                ..Features::default()
            };
            let probabilities = drum.probabilities(Most {
                body_db: loudest_db,
                strokes: 8.0,
            });
            assert_eq!(likeliest(&probabilities), kind, "{probabilities:?}");
        }
    }

    /// What cymbals cover in the overheads is not absent there: the spot is not near for that.
    #[test]
    fn the_spot_is_not_near_what_the_overheads_cannot_hear() {
        let mut stroke = Stroke::new(&Window::new(48_000.0));
        let heard = Energy {
            body: 1e-4,
            bands: [1e-4; BANDS],
            before: [1e-4; BANDS],
        };
        let mut covered = heard;
        covered.bands[3] = 0.0;
        let mut spot = heard;
        spot.bands = [1e-6; BANDS];
        stroke.energy = [covered, covered, spot];
        let [_, _, upper, wires, _] = Features::of([&stroke].into_iter()).spot_db;
        assert!(wires - upper < 6.0, "{wires} against {upper} dB");
    }
}
