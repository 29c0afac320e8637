//! Seconds, samples, centimetres and inches: the only file that converts a length of air to a time.

/// Speed of sound in dry air at 0 °C, m/s: the practical formula's constant (published values 331.2 to 331.6).
const SPEED_AT_ZERO: f64 = 331.3;
/// 0 °C in kelvin.
const ZERO_CELSIUS: f64 = 273.15;
/// Inch in metres, exact (ISO 31-1:1992).
const INCH: f64 = 0.0254;
/// Coldest and hottest air that a studio asks for, °C; also keeps the root real.
const TEMPERATURES: std::ops::RangeInclusive<f64> = -50.0..=60.0;

/// Sample rates that the core measures and reads between samples at, Hz.
pub const MEASURED_RATES: std::ops::RangeInclusive<f64> = 8_000.0..=768_000.0;

/// The nearest rate that the core works at; 48 kHz for what is no number.
pub fn sane_rate(sample_rate: f64) -> f64 {
    if sample_rate.is_nan() {
        return 48_000.0;
    }
    sample_rate.clamp(*MEASURED_RATES.start(), *MEASURED_RATES.end())
}

/// Speed of sound in dry air, m/s: 331.3 √(1 + T / 273.15), T in °C. Humidity adds at most 0.4 %.
pub fn speed_of_sound(celsius: f64) -> f64 {
    let celsius = if celsius.is_nan() { 20.0 } else { celsius };
    let celsius = celsius.clamp(*TEMPERATURES.start(), *TEMPERATURES.end());
    SPEED_AT_ZERO * (1.0 + celsius / ZERO_CELSIUS).sqrt()
}

/// Centimetres of air that take `seconds`.
pub fn cm(seconds: f64, celsius: f64) -> f64 {
    seconds * speed_of_sound(celsius) * 100.0
}

/// Inches of air that take `seconds`.
pub fn inches(seconds: f64, celsius: f64) -> f64 {
    seconds * speed_of_sound(celsius) / INCH
}

/// Seconds that `cm` centimetres of air take.
pub fn seconds_of_cm(cm: f64, celsius: f64) -> f64 {
    cm / 100.0 / speed_of_sound(celsius)
}

/// Seconds that `inches` of air take.
pub fn seconds_of_inches(inches: f64, celsius: f64) -> f64 {
    inches * INCH / speed_of_sound(celsius)
}

/// Samples in `seconds`.
pub fn samples(seconds: f64, sample_rate: f64) -> f64 {
    seconds * sample_rate
}

/// Seconds in `samples`.
pub fn seconds(samples: f64, sample_rate: f64) -> f64 {
    samples / sample_rate
}

/// Decibels of an amplitude; minus infinity for zero.
pub fn decibels(amplitude: f64) -> f64 {
    20.0 * amplitude.log10()
}

/// Amplitude of a level in decibels.
pub fn amplitude(decibels: f64) -> f64 {
    10f64.powf(decibels / 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        for t in [-10.0, 0.0, 20.0, 35.0] {
            assert!((seconds_of_cm(cm(0.001, t), t) - 0.001).abs() < 1e-15);
            assert!((seconds_of_inches(inches(0.001, t), t) - 0.001).abs() < 1e-15);
        }
        assert_eq!(seconds(samples(0.25, 48_000.0), 48_000.0), 0.25);
        assert!((amplitude(decibels(0.3)) - 0.3).abs() < 1e-15);
    }

    #[test]
    fn absurd_temperatures_stay_finite() {
        for t in [f64::NAN, f64::INFINITY, -1e9] {
            assert!(speed_of_sound(t) > 290.0);
        }
    }
}
