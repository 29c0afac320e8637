//! Times as samples and as lengths of air.

use crate::session::Lengths;
use plumbline_dsp::units;

/// What turns a time into samples and lengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Samples a second.
    pub sample_rate: f64,
    pub celsius: f64,
    /// What lengths are shown in first.
    pub lengths: Lengths,
}

impl Air {
    pub fn samples(&self, seconds: f64) -> f64 {
        units::samples(seconds, self.sample_rate)
    }

    pub fn cm(&self, seconds: f64) -> f64 {
        units::cm(seconds, self.celsius)
    }

    pub fn inches(&self, seconds: f64) -> f64 {
        units::inches(seconds, self.celsius)
    }
}
