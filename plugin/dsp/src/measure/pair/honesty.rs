//! From what a fit found to honest numbers: a spread that covers, and the probability of an error under a centimetre.

use crate::measure::pair::fit::Fitted;

/// A centimetre of air at 343 m/s, microseconds.
const CENTIMETRE_US: f64 = 29.2;
/// Jackknife and bootstrap see the same strokes: fitted to grooves of known truth so that twice the spread covers 95 per cent.
const INFLATION: f64 = 0.9;
/// What is left of cymbals and reflections errs alike in all strokes, so that their own scatter shows half of it (own
/// measurement: 356 sessions of known truth).
const OWN: f64 = 2.0;
/// Two microphones' unequal responses leave 0.2 sample at 48 kHz whatever the strokes say (own simulation), microseconds.
const LEAST_US: f64 = 5.0;
/// Where the stick lands moves a stroke's gap by this much, microseconds: 1.2 samples at 44.1 kHz on isolated strokes.
const STICK_US: f64 = 27.0;
/// A front's rise against a close microphone's: two samples at 44.1 kHz.
const RISE_US: f64 = 45.0;
/// Log odds of the right pair of fronts: constant, a unit of lead, of likeness, of the push, of the drum's margin, of the tail.
/// Logistic regression on 800 sessions of known truth, real and simulated, cymbals up to 12 dB up, half of them eight bars long, half
/// (at half the weight) two; a wrong answer weighs twice, because a correction that is not made costs less than a wrong one. Margin's
/// is a choice: hardly one of these sessions measures a wrong drum.
const ODDS: [f64; 6] = [-9.98, 0.11, 1.19, 3.61, 0.3, 7.06];
/// Odds of the polarity, a unit of what speaks for it: how much higher the fronts' correlation is than the other polarity's, the
/// correlations of first push and first swing, and how much higher the bodies' is than the other polarity's.
const POLARITY: f64 = 3.0;

/// What a lag's numbers are made of: kept so that their constants can be fitted to sessions of known truth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Evidence {
    /// Vote over the best other answer.
    pub lead: f64,
    /// How high the lower of the two fronts stands out: log of the power after over the largest before.
    pub height: f64,
    /// Correlation of the stacks at the fronts, of the strokes there, and of the drum's first push.
    pub coherent: f64,
    /// Correlation of the strokes one by one.
    pub strokes_alike: f64,
    /// Correlation of the whitened stacks from the fronts on, in the answer's polarity.
    pub tail: f64,
    /// Correlation of the first push in the answer's polarity.
    pub push: f64,
    /// Correlation of the first swing in the answer's polarity.
    pub swing: f64,
    /// How much higher the correlation of the bodies is than in the other polarity, each at its own fullest lag.
    pub body: f64,
    /// How much higher the correlation is than the other polarity's.
    pub clear_polarity: f64,
    /// How far the drum stands ahead of the next as the one to be measured.
    pub margin: f64,
    /// Strokes.
    pub strokes: f64,
    /// Standard errors, microseconds: strokes left out, strokes weighed at random, variants, the strokes' own.
    pub jackknife_us: f64,
    /// See `jackknife_us`.
    pub bootstrap_us: f64,
    /// See `jackknife_us`.
    pub variants_us: f64,
    /// See `jackknife_us`.
    pub own_us: f64,
    /// How much the strokes' own lags count against the stack's.
    pub own_part: f64,
}

/// Numbers of a fit in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Honest {
    pub spread_s: f64,
    pub confidence: f64,
    pub polarity_odds: f64,
}

impl Evidence {
    /// Of a fit of so many strokes, not counting what drum it is and what its body says.
    pub(crate) fn of(fitted: &Fitted, strokes: usize, rate: f64) -> Self {
        let us = |samples: f64| samples / rate * 1e6;
        let pair = &fitted.best.pair;
        Self {
            lead: f64::from(fitted.lead),
            height: f64::from(pair.height),
            coherent: f64::from(pair.coherent),
            strokes_alike: f64::from(pair.strokes),
            tail: f64::from(fitted.best.tail),
            push: f64::from(fitted.best.push),
            swing: f64::from(fitted.close.swing),
            clear_polarity: f64::from(pair.clear_polarity),
            strokes: strokes as f64,
            jackknife_us: us(fitted.close.errors.jackknife),
            bootstrap_us: us(fitted.close.errors.bootstrap),
            variants_us: us(fitted.close.variants_sd),
            own_us: us(fitted.close.strokes.error),
            own_part: fitted.close.strokes.part,
            ..Self::default()
        }
    }

    pub(crate) fn honest(&self) -> Honest {
        let spread_us = self.spread_us();
        let near = erf(CENTIMETRE_US / (std::f64::consts::SQRT_2 * spread_us));
        let right = logistic(self.odds());
        Honest {
            spread_s: spread_us * 1e-6,
            confidence: right * near,
            polarity_odds: polarity_odds(self.clear_polarity + self.push + self.swing + self.body),
        }
    }

    /// Standard error of the right answer.
    fn spread_us(&self) -> f64 {
        let stack = self.jackknife_us.powi(2) + self.bootstrap_us.powi(2);
        let own = (OWN * self.own_us).powi(2);
        let found = stack + self.own_part * (own - stack);
        let variants = self.variants_us.powi(2);
        let stick = (STICK_US / self.strokes).powi(2);
        INFLATION * (found + variants + LEAST_US.powi(2) + stick).sqrt()
    }

    /// Log odds that this is the drum's pair of fronts.
    fn odds(&self) -> f64 {
        let terms = [
            1.0,
            self.lead.clamp(0.0, 8.0),
            self.coherent + self.strokes_alike,
            self.push,
            self.margin.clamp(-2.0, 3.0),
            self.tail,
        ];
        let weighed = ODDS.iter().zip(terms).map(|(weight, term)| weight * term);
        weighed.sum()
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
    (
        spread_us * 1e-6,
        near * logistic(2.0 * (f64::from(height) - 2.0)),
    )
}

fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// The error function (Abramowitz & Stegun 7.1.26, to 1.5e-7), positive arguments.
fn erf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let a = [
        0.254_829_592,
        -0.284_496_736,
        1.421_413_741,
        -1.453_152_027,
        1.061_405_429,
    ];
    let sum = a.iter().rev().fold(0.0, |sum, a| (sum + a) * t);
    1.0 - sum * (-x * x).exp()
}
