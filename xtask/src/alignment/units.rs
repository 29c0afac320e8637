//! Times of a take as samples and as distances through its air.

use plumbline_dsp::units;

/// What turns a time into samples and distances.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Units {
    /// Samples a second.
    pub sample_rate: f64,
    /// Air, degrees Celsius.
    pub temperature_c: f64,
}

impl Units {
    /// Centimetres of a time.
    pub fn cm(&self, seconds: f64) -> f64 {
        units::cm(seconds, self.temperature_c)
    }

    /// Inches of a time.
    pub fn inches(&self, seconds: f64) -> f64 {
        units::inches(seconds, self.temperature_c)
    }

    /// Samples of a time.
    pub fn samples(&self, seconds: f64) -> f64 {
        units::samples(seconds, self.sample_rate)
    }
}
