//! The comb that a signal and its delayed copy make: where its nulls and peaks lie and how deep it is.
//!
//! Everest & Pohlmann, "Master Handbook of Acoustics", chapter 10.

use std::f64::consts::PI;

use crate::units::decibels;

/// How the copy is added.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Copied {
    /// As it is: no null at 0 Hz.
    Upright,
    /// Turned over: the first null is at 0 Hz.
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
        // (1 - |a|)² + 4|a| cos² or sin²: the same sum without cancellation near a null.
        let half_turn = PI * hz * self.delay_s;
        let swing = if level >= 0.0 {
            half_turn.cos()
        } else {
            half_turn.sin()
        };
        ((1.0 - self.level).powi(2) + 4.0 * self.level * swing * swing).sqrt()
    }

    /// The null number `index` from 0, in hertz: (2k + 1) / 2τ, or k / τ when inverted.
    pub fn null_hz(&self, index: u32) -> f64 {
        self.turn_hz(index, self.copied == Copied::Upright)
    }

    /// The peak number `index` from 0, in hertz: k / τ, or (2k + 1) / 2τ when inverted.
    pub fn peak_hz(&self, index: u32) -> f64 {
        self.turn_hz(index, self.copied == Copied::Inverted)
    }

    fn turn_hz(&self, index: u32, halfway: bool) -> f64 {
        let turns = f64::from(index) + if halfway { 0.5 } else { 0.0 };
        turns / self.delay_s.abs()
    }

    /// Level of the peaks, dB.
    pub fn peak_db(&self) -> f64 {
        decibels(1.0 + self.level)
    }

    /// Level of the nulls, dB; minus infinity for a copy as loud as the signal.
    pub fn null_db(&self) -> f64 {
        decibels((1.0 - self.level).abs())
    }

    /// Peaks above nulls, dB.
    pub fn ripple_db(&self) -> f64 {
        self.peak_db() - self.null_db()
    }
}
