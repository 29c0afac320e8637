//! Speed of sound and lengths of air against published values.

use plumbline_dsp::meters::comb::Comb;
use plumbline_dsp::units::*;

use crate::support::assert_near;

/// ISO 9613-1:1993, formula A.5.
fn iso_9613(celsius: f64) -> f64 {
    343.2 * ((celsius + 273.15) / 293.15).sqrt()
}

#[test]
fn speed_of_sound_in_dry_air() {
    // °C, m/s: the practical formula for dry air, 331.3 √(1 + T / 273.15).
    let table = [
        (0.0, 331.300),
        (15.0, 340.275),
        (20.0, 343.215),
        (25.0, 346.129),
        (30.0, 349.019),
    ];
    for (celsius, want) in table {
        let case = format!("{celsius} °C");
        assert_near(&case, speed_of_sound(celsius), want, 0.001);
        assert_near(&case, speed_of_sound(celsius), iso_9613(celsius), 0.016);
    }
    assert_near("ISO 9613-1 itself", iso_9613(20.0), 343.2, 0.001);
}

#[test]
fn one_sample_of_air_at_20_degrees() {
    // Hz, mm, inches; computed from 343.215 m/s.
    let table = [
        (44_100.0, 7.783, 0.3064),
        (48_000.0, 7.150, 0.2815),
        (96_000.0, 3.575, 0.1408),
    ];
    for (rate, mm, inch) in table {
        let case = format!("one sample at {rate} Hz");
        assert_near(&case, cm(seconds(1.0, rate), 20.0) * 10.0, mm, 0.001);
        assert_near(&case, inches(seconds(1.0, rate), 20.0), inch, 0.0001);
    }
}

#[test]
fn ten_centimetres_of_error() {
    let delay = seconds_of_cm(10.0, 20.0);
    assert_near("time, µs", delay * 1e6, 291.36, 0.1);
    assert_near("samples at 48 kHz", samples(delay, 48_000.0), 13.985, 0.005);
    assert_near(
        "first notch, Hz",
        Comb::equal(delay).notch_hz(0),
        1716.1,
        1.0,
    );
    let inch = seconds_of_inches(1.0, 20.0);
    assert_near("one inch, µs", inch * 1e6, 74.01, 0.01);
}
