//! Numeric parameters: how their range is spread over a knob, and their values in the core's units.

use nice_plug::prelude::*;

/// A parameter in milliseconds, in seconds.
pub fn seconds(parameter: &FloatParam) -> f64 {
    f64::from(parameter.value()) / 1000.0
}

/// A parameter in percent, as a part of one.
pub fn part(parameter: &FloatParam) -> f64 {
    f64::from(parameter.value()) / 100.0
}

/// A parameter whose knob is linear in its unit and shows `digits` decimals.
pub fn linear(
    name: &str,
    default: f32,
    min: f32,
    max: f32,
    unit: &'static str,
    digits: usize,
) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min, max })
        .with_unit(unit)
        .with_value_to_string(formatters::v2s_f32_rounded(digits))
}

/// A parameter whose knob gives more room to its small values.
pub fn skewed(
    name: &str,
    default: f32,
    min: f32,
    max: f32,
    unit: &'static str,
    digits: usize,
) -> FloatParam {
    let factor = FloatRange::skew_factor(-1.5);
    let range = FloatRange::Skewed { min, max, factor };
    FloatParam::new(name, default, range)
        .with_unit(unit)
        .with_value_to_string(formatters::v2s_f32_rounded(digits))
}
