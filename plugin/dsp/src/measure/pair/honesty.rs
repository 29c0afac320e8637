//! From what a fit found to honest numbers: a spread that covers, and the probability of an error under a centimetre.

use crate::measure::pair::fit::Fitted;

/// A centimetre of air, microseconds (343 m/s gives 29.2; the target's own figure is 31 with the spread's inflation).
const CENTIMETRE_US: f64 = 29.2;
/// What the resamplings miss together, and the error left when they say nothing, microseconds.
const INFLATION: f64 = 1.07;
const LEAST_US: f64 = 2.7;
/// Where the stick lands moves a stroke's gap by this much, microseconds: 1.2 samples at 44.1 kHz on isolated strokes.
const STICK_US: f64 = 27.0;
/// A front's rise against a close microphone's: two samples at 44.1 kHz.
const RISE_US: f64 = 45.0;
/// Log odds of the right pair of fronts: constant, a unit of lead, of likeness, of the drum's margin, of the log of strokes.
const ODDS: [f64; 4] = [-3.0, 0.9, 1.5, 0.7];
/// Odds of the polarity, a unit of the difference between both correlations' heights.
const POLARITY: f64 = 3.0;

/// Numbers of a fit in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Honest {
    pub spread_s: f64,
    pub confidence: f64,
    pub polarity_odds: f64,
}

/// `margin` is how far the drum stands ahead of the next as the one to be measured.
pub(crate) fn honest(fitted: &Fitted, strokes: usize, margin: f64, rate: f64) -> Honest {
    let us = |samples: f64| samples / rate * 1e6;
    let stack = us(fitted.errors.jackknife).powi(2)
        + us(fitted.errors.bootstrap).powi(2)
        + us(fitted.variants_sd).powi(2);
    let own = 2.0 * us(fitted.strokes.error).powi(2);
    let squares = stack + fitted.strokes.part * (own - stack)
        + LEAST_US.powi(2)
        + (STICK_US / strokes as f64).powi(2);
    let spread_us = INFLATION * squares.sqrt();
    let right = logistic(odds(fitted, margin));
    let near = erf(CENTIMETRE_US / (std::f64::consts::SQRT_2 * spread_us));
    Honest {
        spread_s: spread_us * 1e-6,
        confidence: right * near,
        polarity_odds: polarity_odds(f64::from(fitted.best.pair.clear_polarity + fitted.best.push)),
    }
}

/// Probability of a polarity whose correlation is so much higher than the other's.
pub(crate) fn polarity_odds(ahead: f64) -> f64 {
    logistic(POLARITY * ahead).max(0.5)
}

/// Spread in seconds and confidence of a single channel's front of this height.
pub(crate) fn honest_front(height: f32, strokes: usize) -> (f64, f64) {
    let spread_us = (RISE_US.powi(2) + STICK_US.powi(2) / strokes as f64).sqrt();
    let near = erf(CENTIMETRE_US / (std::f64::consts::SQRT_2 * spread_us));
    (spread_us * 1e-6, near * logistic(2.0 * (f64::from(height) - 2.0)))
}

fn odds(fitted: &Fitted, margin: f64) -> f64 {
    let pair = &fitted.best.pair;
    let likeness = f64::from(pair.coherent + pair.strokes);
    ODDS[0]
        + ODDS[1] * f64::from(fitted.lead).min(8.0)
        + ODDS[2] * likeness
        + ODDS[3] * margin.clamp(-2.0, 3.0)
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// The error function (Abramowitz & Stegun 7.1.26, to 1.5e-7), positive arguments.
fn erf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let a = [0.254_829_592, -0.284_496_736, 1.421_413_741, -1.453_152_027, 1.061_405_429];
    let sum = a.iter().rev().fold(0.0, |sum, a| (sum + a) * t);
    1.0 - sum * (-x * x).exp()
}
