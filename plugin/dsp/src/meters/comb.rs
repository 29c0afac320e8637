//! The comb that a signal and its delayed copy make: where its notches and peaks lie and how deep it is.
//!
//! Everest & Pohlmann, "Master Handbook of Acoustics", chapter 10.

use std::f64::consts::PI;

use crate::units::decibels;

/// How the copy is added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Copied {
    /// As it is: no notch at 0 Hz.
    Upright,
    /// Of reversed polarity: the first notch is at 0 Hz.
    Inverted,
}

/// A signal plus one delayed copy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Comb {
    /// Delay of the copy, seconds; its sign makes no difference.
    pub delay_s: f64,
    /// Amplitude of the copy against the signal, 0 up.
    pub level: f64,
    /// How the copy is added.
    pub copied: Copied,
}

impl Comb {
    /// A copy as loud as the signal.
    pub fn equal(delay_s: f64) -> Self {
        Self {
            delay_s,
            level: 1.0,
            copied: Copied::Upright,
        }
    }

    /// Amplitude of the sum against the signal: √(1 + a² ± 2a cos 2πfτ).
    pub fn magnitude(&self, hz: f64) -> f64 {
        let level = match self.copied {
            Copied::Upright => self.level,
            Copied::Inverted => -self.level,
        };
        // (1 - |a|)² + 4|a| cos² or sin²: the same sum without cancellation near a notch.
        let half_turn = PI * hz * self.delay_s;
        let swing = if level >= 0.0 {
            half_turn.cos()
        } else {
            half_turn.sin()
        };
        ((1.0 - self.level).powi(2) + 4.0 * self.level * swing * swing).sqrt()
    }

    /// The notch number `index` from 0, in hertz: (2k + 1) / 2τ, or k / τ when inverted.
    pub fn notch_hz(&self, index: u32) -> f64 {
        match self.copied {
            Copied::Upright => self.odd_half_turns_hz(index),
            Copied::Inverted => self.whole_turns_hz(index),
        }
    }

    /// The peak number `index` from 0, in hertz: k / τ, or (2k + 1) / 2τ when inverted.
    pub fn peak_hz(&self, index: u32) -> f64 {
        match self.copied {
            Copied::Upright => self.whole_turns_hz(index),
            Copied::Inverted => self.odd_half_turns_hz(index),
        }
    }

    /// Where the copy is `index` whole turns late: k / τ.
    fn whole_turns_hz(&self, index: u32) -> f64 {
        f64::from(index) / self.delay_s.abs()
    }

    /// Where it is half a turn more late: (2k + 1) / 2τ.
    fn odd_half_turns_hz(&self, index: u32) -> f64 {
        (f64::from(index) + 0.5) / self.delay_s.abs()
    }

    /// Level of the peaks, dB.
    pub fn peak_db(&self) -> f64 {
        decibels(1.0 + self.level)
    }

    /// Level of the notches, dB; minus infinity for a copy as loud as the signal.
    pub fn notch_db(&self) -> f64 {
        decibels((1.0 - self.level).abs())
    }

    /// Peaks above notches, dB.
    pub fn ripple_db(&self) -> f64 {
        self.peak_db() - self.notch_db()
    }
}
