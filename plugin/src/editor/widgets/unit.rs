//! The unit a control is shown in: how it is written, what may be typed, and how far one step goes.

use crate::editor::drawing::plain;
use crate::editor::frame::Air;
use crate::params::{FIRST_BAR, bar_text, off_db};
use plumbline_dsp::units;

/// How a control is written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Unit {
    Decibels,
    /// Off below a level.
    DecibelsOrOff {
        lowest_db: f32,
    },
    /// Of a sine's peak.
    DecibelsFullScale,
    /// Of a recorded tape.
    Nanowebers,
    Percent,
    /// As a flutter meter reads it: parts of a percent.
    Weighted,
    Hertz,
    Celsius,
    /// A length of the song.
    Bars,
    /// A place in the song; off before the first bar.
    BarOrOff,
    Milliseconds,
    /// Of a parameter in milliseconds.
    Samples,
}

/// One step of the arrows and of the wheel, in the parameter's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Steps {
    pub plain: f32,
    /// With Shift.
    pub fine: f32,
    /// With Alt; lengths go by a centimetre.
    pub other: f32,
}

impl Unit {
    /// As it is shown.
    pub fn write(self, value: f32, air: &Air) -> String {
        let value = f64::from(value);
        match self {
            Self::DecibelsOrOff { lowest_db } if value < f64::from(lowest_db) => "off".to_owned(),
            Self::Decibels | Self::DecibelsOrOff { .. } => format!("{} dB", plain(value, 1)),
            Self::DecibelsFullScale => format!("{} dBFS", plain(value, 1)),
            Self::Nanowebers => format!("{} nWb/m", plain(value, 0)),
            Self::Percent => format!("{} %", plain(value, 0)),
            Self::Weighted => format!("{} %", plain(value, weighted_digits(value))),
            Self::Hertz => format!("{} Hz", plain(value, 2)),
            Self::Celsius => format!("{} °C", plain(value, 1)),
            Self::Bars => format!("{} bars", plain(value, 2)),
            Self::BarOrOff => bar_text(value as f32),
            Self::Milliseconds => format!("{} ms", plain(value, 2)),
            Self::Samples => format!("{} smp", plain(air.samples(value / 1000.0), 1)),
        }
    }

    /// The same in the other units, for a tip; empty where there are none.
    pub fn otherwise(self, value: f32, air: &Air) -> String {
        let seconds = f64::from(value) / 1000.0;
        match self {
            Self::Milliseconds | Self::Samples => format!(
                "{} ms = {} samples = {} cm = {} in",
                plain(seconds * 1000.0, 3),
                plain(air.samples(seconds), 1),
                plain(air.cm(seconds), 1),
                plain(air.inches(seconds), 2)
            ),
            _ => String::new(),
        }
    }

    /// What was typed, in the parameter's unit; otherwise what could be typed.
    pub fn read(self, typed: &str, air: &Air) -> Result<f32, &'static str> {
        if let (Self::DecibelsOrOff { lowest_db }, "off") = (self, typed.trim()) {
            return Ok(off_db(lowest_db));
        }
        if (self, typed.trim()) == (Self::BarOrOff, "off") {
            return Ok(0.0);
        }
        let (number, unit) = split(typed).ok_or(self.hint())?;
        let value = match self {
            Self::Decibels | Self::DecibelsOrOff { .. } => {
                matches!(unit.as_str(), "" | "db").then_some(number)
            }
            Self::DecibelsFullScale => {
                matches!(unit.as_str(), "" | "db" | "dbfs").then_some(number)
            }
            Self::Nanowebers => matches!(unit.as_str(), "" | "nwb/m" | "nwb").then_some(number),
            Self::Percent | Self::Weighted => matches!(unit.as_str(), "" | "%").then_some(number),
            Self::Hertz => match unit.as_str() {
                "" | "hz" => Some(number),
                "s" if number > 0.0 => Some(1.0 / number),
                _ => None,
            },
            Self::Celsius => match unit.as_str() {
                "" | "c" | "°c" | "°" => Some(number),
                "f" | "°f" => Some((number - 32.0) / 1.8),
                _ => None,
            },
            Self::Bars => matches!(unit.as_str(), "" | "bar" | "bars").then_some(number),
            Self::BarOrOff => (unit.is_empty() && number >= FIRST_BAR.into()).then_some(number),
            Self::Milliseconds => milliseconds(number, &unit, "ms", air),
            Self::Samples => milliseconds(number, &unit, "smp", air),
        };
        value.map(|value| value as f32).ok_or(self.hint())
    }

    fn hint(self) -> &'static str {
        match self {
            Self::Decibels => "Type a level, such as -3 dB",
            Self::DecibelsOrOff { .. } => "Type a level, such as -3 dB, or off",
            Self::DecibelsFullScale => "Type a level, such as -18 dBFS",
            Self::Nanowebers => "Type a fluxivity, such as 320 nWb/m",
            Self::Percent => "Type a part, such as 75 %",
            Self::Weighted => "Type a weighted reading, such as 0.05 %",
            Self::Hertz => "Type a rate or a time, such as 0.25 Hz or 4 s",
            Self::Celsius => "Type a temperature, such as 21 °C or 70 °F",
            Self::Bars => "Type a length, such as 0.5 bars",
            Self::BarOrOff => "Type a bar, such as 33, or 33.25 a quarter of a bar later, or off",
            Self::Milliseconds | Self::Samples => {
                "Type a time or a length, such as 0.5 ms, 24 smp, 17 cm, 6.8 in, 500 us"
            }
        }
    }

    pub fn steps(self, air: &Air) -> Steps {
        let steps = |plain: f64, fine: f64, other: f64| Steps {
            plain: plain as f32,
            fine: fine as f32,
            other: other as f32,
        };
        let sample = 1000.0 / air.sample_rate;
        let cm = 1000.0 * units::seconds_of_cm(1.0, air.celsius);
        match self {
            Self::Decibels | Self::DecibelsOrOff { .. } | Self::DecibelsFullScale => {
                steps(0.5, 0.1, 3.0)
            }
            Self::Nanowebers => steps(5.0, 1.0, 50.0),
            Self::Percent => steps(5.0, 1.0, 25.0),
            Self::Weighted => steps(0.01, 0.001, 0.05),
            Self::Hertz => steps(0.05, 0.01, 0.5),
            Self::Celsius => steps(1.0, 0.1, 5.0),
            Self::Bars => steps(0.25, 0.05, 1.0),
            Self::BarOrOff => steps(1.0, 0.25, 4.0),
            Self::Milliseconds => steps(0.1, 0.01, cm),
            Self::Samples => steps(sample, 0.1 * sample, cm),
        }
    }
}

/// Hundredths, and thousandths where there are some.
fn weighted_digits(percent: f64) -> usize {
    let hundredths = 100.0 * percent;
    match (hundredths - hundredths.round()).abs() < 0.05 {
        true => 2,
        false => 3,
    }
}

/// "−3,5 dB" is -3.5 and "db".
fn split(typed: &str) -> Option<(f64, String)> {
    let typed = typed.trim().replace('−', "-").replace(',', ".");
    let end = typed
        .find(|c: char| !matches!(c, '0'..='9' | '.' | '-' | '+'))
        .unwrap_or(typed.len());
    let number = typed[..end].parse::<f64>().ok()?;
    Some((number, typed[end..].trim().to_lowercase()))
}

fn milliseconds(number: f64, unit: &str, usual: &str, air: &Air) -> Option<f64> {
    let seconds = match if unit.is_empty() { usual } else { unit } {
        "ms" => number / 1e3,
        "s" => number,
        "us" | "µs" | "μs" => number / 1e6,
        "smp" | "sample" | "samples" | "spl" => units::seconds(number, air.sample_rate),
        "cm" => units::seconds_of_cm(number, air.celsius),
        "mm" => units::seconds_of_cm(number / 10.0, air.celsius),
        "m" => units::seconds_of_cm(number * 100.0, air.celsius),
        "in" | "\"" | "inch" | "inches" => units::seconds_of_inches(number, air.celsius),
        "ft" | "'" | "foot" | "feet" => units::seconds_of_inches(12.0 * number, air.celsius),
        _ => return None,
    };
    Some(1000.0 * seconds)
}

#[cfg(test)]
mod tests {
    use super::*;

    const AIR: Air = Air {
        lengths: crate::session::Lengths::Centimetres,
        sample_rate: 48_000.0,
        celsius: 20.0,
    };

    #[test]
    fn lengths_times_and_samples_may_be_typed() {
        for (typed, ms) in [
            ("0.5", 0.5 / 48.0),
            ("0.5 ms", 0.5),
            ("-500us", -0.5),
            ("−500 µs", -0.5),
            ("24 smp", 0.5),
            // Speed of sound at 20 °C: 343.21 m/s.
            ("10 cm", 0.29136),
            ("6 in", 0.44403),
            ("1 ft", 0.88806),
            ("1,5 ms", 1.5),
        ] {
            let read = Unit::Samples.read(typed, &AIR).unwrap();
            assert!((f64::from(read) - ms).abs() < 2e-5, "{typed}: {read} ms");
        }
    }

    #[test]
    fn what_is_not_understood_is_answered_with_what_is() {
        for (unit, typed) in [
            (Unit::Samples, "far"),
            (Unit::Samples, "3 dB"),
            (Unit::Decibels, "3 ms"),
            (Unit::Percent, ""),
            (Unit::Celsius, "20 K"),
            (Unit::BarOrOff, "0.5"),
            (Unit::BarOrOff, "33 ms"),
            (Unit::Milliseconds, "--"),
        ] {
            assert!(
                unit.read(typed, &AIR).unwrap_err().starts_with("Type a"),
                "{typed}"
            );
        }
    }

    #[test]
    fn what_is_written_can_be_typed() {
        for (unit, value) in [
            (Unit::Decibels, -3.5),
            (Unit::DecibelsOrOff { lowest_db: -48.0 }, -3.5),
            (Unit::DecibelsOrOff { lowest_db: -48.0 }, -48.5),
            (Unit::DecibelsFullScale, -18.5),
            (Unit::Nanowebers, 320.0),
            (Unit::Percent, 75.0),
            (Unit::Weighted, 0.045),
            (Unit::Hertz, 0.25),
            (Unit::Celsius, -4.5),
            (Unit::Bars, 1.25),
            (Unit::BarOrOff, 33.0),
            (Unit::BarOrOff, 998.75),
            (Unit::BarOrOff, 0.0),
            (Unit::Milliseconds, -1.25),
            (Unit::Samples, 0.5),
        ] {
            let written = unit.write(value, &AIR);
            let read = unit.read(&written, &AIR).unwrap();
            assert!((read - value).abs() < 1e-3, "{written}: {read}");
        }
        assert_eq!(Unit::Celsius.read("70 F", &AIR).unwrap(), 21.11111);
        assert_eq!(Unit::Hertz.read("4 s", &AIR).unwrap(), 0.25);
    }
}
