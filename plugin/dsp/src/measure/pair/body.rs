//! The lag at which two microphones together sound fullest over a drum's body.

use realfft::num_complex::Complex64;

use crate::measure::pair::cross_spectrum::{
    Band, DelayEstimator, EstimatorSetup, LagSearch, Placed, Way, Window,
};

/// A drum's body: its first 40 ms.
const WINDOW: Window = Window {
    rise_s: 0.0005,
    flat_s: 0.0375,
    fall_s: 0.005,
};
/// What makes a drum full or thin in mono lies here.
const BAND: Band = Band {
    low_hz: 100.0,
    high_hz: 6_000.0,
};
/// The body may want another lag than the attack, but never another room: 1 ms is 34 cm of air.
const REACH_S: f64 = 0.001;

/// Estimator and the hits' common cross-spectrum.
#[derive(Debug)]
pub(crate) struct BodyMatch {
    estimator: DelayEstimator,
    common: Box<[Complex64]>,
    /// The spectrum that is drawn.
    shown: Box<[Complex64]>,
    reach: f64,
}

impl BodyMatch {
    pub(crate) fn new(rate: f64) -> Self {
        let estimator = DelayEstimator::new(EstimatorSetup {
            rate,
            window: WINDOW,
            band: BAND,
            whitening: 0.0,
        });
        Self {
            common: vec![Complex64::default(); estimator.bins()].into(),
            shown: vec![Complex64::default(); estimator.bins()].into(),
            estimator,
            reach: REACH_S * rate,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.common.fill(Complex64::default());
    }

    /// Adds one hit; the two places are the attack's, which is lag zero here.
    pub(crate) fn add(&mut self, first: Placed<'_>, second: Placed<'_>) {
        self.estimator
            .add_cross_spectrum(first, second, &mut self.common);
    }

    /// The fullest lag against the attack's, in samples: where the energy of the sum, which is the two energies and
    /// twice their correlation, is greatest within 1 ms.
    pub(crate) fn fullest(&self, way: Way) -> f64 {
        let search = LagSearch {
            centre: 0.0,
            radius: self.reach,
            way,
        };
        self.estimator
            .highest(&self.common, 0..self.common.len(), search)
            .lag
    }

    /// Keeps the hits for drawing.
    pub(crate) fn show(&mut self) {
        self.shown.copy_from_slice(&self.common);
    }

    /// Correlation of the hits shown at a lag against the attack's, in samples, relative to its possible most.
    pub(crate) fn correlation(&self, lag: f64) -> f64 {
        self.estimator.relative_correlation(&self.shown, lag)
    }
}
