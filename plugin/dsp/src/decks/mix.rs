//! The mix of the two decks: blend, flip, width and engage, each ramped.

use super::settings::within;
use super::values::Values;
use crate::delay::delay_line::clean;
use crate::math::ramp::{GLIDE_S, toward};

/// How fast the width may change, whole widths a second: 12 ms of offset then move at under 5 %.
const WIDTH_PER_S: f64 = 4.0;

/// Settings of the mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixSettings {
    /// Off: the fixed deck alone.
    pub engage: bool,
    /// Time in which the moving deck comes in and goes out with `engage`, seconds; at least a cross-fade.
    pub engage_s: f64,
    /// 0 the fixed deck, 0.5 both alike, 1 the moving deck.
    pub blend: f64,
    /// The moving deck's polarity is reversed.
    pub flip: bool,
    /// The second channel's offset as a part of the first's, -1 to 1.
    pub width: f64,
}

impl Default for MixSettings {
    fn default() -> Self {
        Self {
            engage: true,
            engage_s: 0.0,
            blend: 0.5,
            flip: false,
            width: 1.0,
        }
    }
}

/// The mix of one chunk, sample by sample.
#[derive(Clone, Copy, Debug)]
pub struct MixChunk {
    /// The second channel's offset as a part of the first's.
    pub width: Values<f64>,
    /// Part of the moving deck in the sum.
    pub share: Values<f32>,
    /// 1 as it is, -1 of reversed polarity.
    pub polarity: Values<f32>,
}

impl Default for MixChunk {
    fn default() -> Self {
        Self {
            width: Values::Resting(0.0),
            share: Values::Resting(0.0),
            polarity: Values::Resting(0.0),
        }
    }
}

impl MixChunk {
    fn rest_at(&mut self, target: &MixTarget) {
        self.width = Values::Resting(target.width);
        self.share = Values::Resting(target.share() as f32);
        self.polarity = Values::Resting(target.polarity as f32);
    }

    /// The moving deck's part scaled by how much of the comb is heard.
    pub fn deepen(&mut self, depths: &Values<f32>, count: usize) {
        if let Values::Moving(depths) = depths {
            let shares = self.share.each()[..count].iter_mut();
            shares
                .zip(depths)
                .for_each(|(share, depth)| *share *= depth);
        }
    }

    /// The moving deck has no part in the sum.
    pub fn is_fixed_alone(&self) -> bool {
        matches!(self.share, Values::Resting(0.0))
    }

    /// Adds what the moving deck plays to what the fixed one plays.
    pub fn add(&self, fixed: &mut [f32], moving: &[f32]) {
        let sum = |fixed: f32, moving: f32, share: f32, polarity: f32| {
            clean(fixed + share * (polarity * moving - fixed))
        };
        let pairs = fixed.iter_mut().zip(moving);
        if let (&Values::Resting(share), &Values::Resting(polarity)) = (&self.share, &self.polarity)
        {
            return pairs
                .for_each(|(fixed, &moving)| *fixed = sum(*fixed, moving, share, polarity));
        }
        for (n, (fixed, &moving)) in pairs.enumerate() {
            *fixed = sum(*fixed, moving, self.share.at(n), self.polarity.at(n));
        }
    }
}

/// The values that the ramps run to.
#[derive(Clone, Copy, Debug, PartialEq)]
struct MixTarget {
    width: f64,
    /// Part of the moving deck in the sum while it is engaged.
    blend: f64,
    /// 1 engaged, 0 not.
    engaged: f64,
    /// 1 as it is, -1 of reversed polarity.
    polarity: f64,
}

/// The ramped values.
#[derive(Clone, Debug)]
pub struct Mix {
    now: MixTarget,
    sample_rate: f64,
    /// Greatest change of blend and polarity in one sample, and of the width.
    step: f64,
    width_step: f64,
    /// The next settings are taken at once.
    jump: bool,
}

impl Mix {
    /// Takes the first settings at once.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            now: MixTarget::new(&MixSettings::default()),
            sample_rate,
            step: 1.0 / (GLIDE_S * sample_rate),
            width_step: WIDTH_PER_S / sample_rate,
            jump: true,
        }
    }

    /// The next settings are taken at once.
    pub fn reset(&mut self) {
        self.jump = true;
    }

    /// The next `count` samples go `into` a chunk.
    pub fn next(&mut self, settings: &MixSettings, count: usize, into: &mut MixChunk) {
        let wanted = MixTarget::new(settings);
        if self.jump {
            self.now = wanted;
            self.jump = false;
        }
        if self.now == wanted {
            into.rest_at(&wanted);
            return;
        }
        let (width, share, polarity) = (into.width.each(), into.share.each(), into.polarity.each());
        let engage_s = within(settings.engage_s, GLIDE_S, 1e6);
        let engage_step = 1.0 / (engage_s * self.sample_rate);
        for n in 0..count {
            let now = &mut self.now;
            now.width = toward(now.width, wanted.width, self.width_step);
            now.blend = toward(now.blend, wanted.blend, self.step);
            now.engaged = toward(now.engaged, wanted.engaged, engage_step);
            now.polarity = toward(now.polarity, wanted.polarity, 2.0 * self.step);
            width[n] = now.width;
            share[n] = now.share() as f32;
            polarity[n] = now.polarity as f32;
        }
    }
}

impl MixTarget {
    fn new(settings: &MixSettings) -> Self {
        Self {
            width: within(settings.width, -1.0, 1.0),
            blend: within(settings.blend, 0.0, 1.0),
            engaged: if settings.engage { 1.0 } else { 0.0 },
            polarity: if settings.flip { -1.0 } else { 1.0 },
        }
    }

    /// Part of the moving deck in the sum.
    fn share(&self) -> f64 {
        self.blend * self.engaged
    }
}
