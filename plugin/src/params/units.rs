//! Numeric parameters: how their range is spread over a knob, and their values in the core's units.

use nice_plug::prelude::*;
use std::sync::Arc;

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

/// Where a level that can be off stands when it is off: half a decibel, one step of a knob, below its lowest.
pub fn off_db(lowest_db: f32) -> f32 {
    lowest_db - 0.5
}

/// A level in dB that is off below `lowest`.
pub fn level_or_off(name: &str, lowest_db: f32, highest_db: f32) -> FloatParam {
    let range = FloatRange::Linear {
        min: off_db(lowest_db),
        max: highest_db,
    };
    FloatParam::new(name, off_db(lowest_db), range)
        .with_value_to_string(Arc::new(move |db| match db < lowest_db {
            true => "off".to_owned(),
            false => format!("{db:.1} dB"),
        }))
        .with_string_to_value(Arc::new(move |text| {
            let text = text.trim().to_lowercase();
            match text.as_str() {
                "off" => Some(off_db(lowest_db)),
                level => level.trim_end_matches("db").trim().parse().ok(),
            }
        }))
}

/// A level that can be off, in dB.
pub fn level_db(parameter: &FloatParam, lowest_db: f32) -> Option<f64> {
    let db = parameter.value();
    (db >= lowest_db).then_some(f64::from(db))
}

/// The first bar of a song; a place in bars is off below it.
pub const FIRST_BAR: f32 = 1.0;

/// A place in the song, in bars, that can be off.
pub fn bar_or_off(name: &str, last: f32) -> FloatParam {
    let range = FloatRange::Linear {
        min: 0.0,
        max: last,
    };
    FloatParam::new(name, 0.0, range)
        .with_value_to_string(Arc::new(bar_text))
        .with_string_to_value(Arc::new(|text| {
            let text = text.trim().to_lowercase();
            match text.as_str() {
                "off" => Some(0.0),
                bar => bar.trim_start_matches("bar").trim().parse().ok(),
            }
        }))
}

/// A place in bars as it is written: "off", "33", or "33.25" a quarter of a bar later.
pub fn bar_text(bar: f32) -> String {
    if bar < FIRST_BAR {
        return "off".to_owned();
    }
    let digits = format!("{bar:.4}");
    digits
        .trim_end_matches('0')
        .trim_end_matches('.')
        .to_owned()
}

/// A place in bars; `None` when it is off.
pub fn bar(parameter: &FloatParam) -> Option<f64> {
    let bar = parameter.value();
    (bar >= FIRST_BAR).then_some(f64::from(bar))
}
