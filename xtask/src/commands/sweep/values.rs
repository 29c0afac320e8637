//! Values of the sweep's options as they are typed, each within the range of the plugin's own control.

use crate::commands::typed::{number, per_cent as typed_per_cent};
use crate::decks::AutomationLine;

/// Farthest offset either way, ms.
const FARTHEST_MS: f64 = 12.0;

pub fn offset(text: &str) -> Result<AutomationLine, String> {
    AutomationLine::parse(text, FARTHEST_MS)
}

pub fn drag(text: &str) -> Result<AutomationLine, String> {
    AutomationLine::parse(text, 100.0)
}

pub fn range(text: &str) -> Result<f64, String> {
    number(text, 0.05..=FARTHEST_MS, "the range, in ms,")
}

pub fn rate(text: &str) -> Result<f64, String> {
    number(text, 0.01..=5.0, "the rate, in Hz,")
}

pub fn bar(text: &str) -> Result<f64, String> {
    number(text, 1.0..=1e5, "a bar")
}

pub fn null_at(text: &str) -> Result<f64, String> {
    number(text, 1.0..=999.0, "the bar of the null point")
}

pub fn ease(text: &str) -> Result<f64, String> {
    number(
        text,
        0.0..=2.0,
        "the length that the comb comes in over, in bars,",
    )
}

pub fn tempo(text: &str) -> Result<AutomationLine, String> {
    let line = AutomationLine::parse(text, f64::INFINITY)?;
    let allowed = 20.0..=400.0;
    if line.points().iter().any(|(_, bpm)| !allowed.contains(bpm)) {
        return Err("the tempo, in quarter notes a minute, is 20 to 400".to_owned());
    }
    match line.points() {
        [_] => Ok(line),
        [from, to] if from.0 < to.0 => Ok(line),
        _ => Err("a tempo is one value or a ramp between two bars, as in 3:100,9:120".to_owned()),
    }
}

pub fn position(text: &str) -> Result<f64, String> {
    number(text, 0.0..=1e6, "a place in the file, in seconds,")
}

pub fn per_cent(text: &str) -> Result<f64, String> {
    typed_per_cent(text, 0.0..=100.0, "a part, in per cent,")
}

pub fn width(text: &str) -> Result<f64, String> {
    typed_per_cent(text, -100.0..=100.0, "the width, in per cent,")
}

pub fn wobble(text: &str) -> Result<f64, String> {
    typed_per_cent(text, 0.0..=0.5, "wow or flutter, in per cent,")
}

pub fn output(text: &str) -> Result<f64, String> {
    number(text, -24.0..=12.0, "the output, in dB,")
}
