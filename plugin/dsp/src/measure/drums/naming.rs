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
                band(s, n, 2..CHANNELS) / (band(s, n, 0..2) + 1e-14)
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

    /// How much a drum speaks for being the snare; `loudest_db` and `most` are the kit's loudest body and most strokes.
    pub(crate) fn snare(&self, loudest_db: f64, most: f64) -> f64 {
        let [shell, body, upper, wires, top] = self.bands_db;
        let tilt = (upper + wires) / 2.0 - shell;
        let bright = top - body;
        (tilt + 3.0).clamp(-10.0, 6.0) / 3.0
            + 2.0 * (enough(self.effective) / enough(most)).ln()
            + (bright + 22.0).clamp(-8.0, 6.0) / 4.0
            + (self.body_db - loudest_db + 10.0).clamp(-12.0, 0.0) / 2.0
            + (-(bright + 3.0)).clamp(-10.0, 0.0) / 3.0
    }

    /// Probability of each of [`crate::measurement::KINDS`]; `most` are the strokes of the drum with most.
    pub(crate) fn probabilities(&self, most: f64) -> [f32; 4] {
        let [shell, body, upper, wires, top] = self.bands_db;
        let wired = ((upper + wires) / 2.0 - body - WIRED_DB.0) / WIRED_DB.1;
        let deep = (shell - body - DEEP_DB.0) / DEEP_DB.1;
        let bright = (top - body - BRIGHT_DB.0) / BRIGHT_DB.1;
        let often = (enough(self.effective) / enough(most)).ln();
        let snare = wired - deep.max(0.0) + often;
        let tom = -wired - deep.max(0.0);
        let odds = [snare, deep - wired + often, tom, 2.0 * bright];
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
