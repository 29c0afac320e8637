//! The correlation meter against what any such meter must read.

use plumbline_dsp::meters::correlation::{CorrelationMeter, correlation};

use crate::support::{Noise, assert_near, sine};

const RATE: f64 = 48_000.0;

fn readings(first: &[f32], second: &[f32]) -> (f64, f64) {
    let mut meter = CorrelationMeter::new(0.6, RATE);
    meter.push(first, second);
    (meter.reading(), correlation(first, second))
}

/// Name, both channels, reading, tolerance.
type Case<'a> = (&'a str, &'a [f32], &'a [f32], f64, f64);

#[test]
fn published_readings() {
    // Identical +1, inverted -1, independent 0, one channel missing 0, quarter turn 0: common practice of broadcast
    // meters, no standard.
    let ten_seconds = 480_000;
    let noise = Noise::new(1).samples(ten_seconds);
    let other = Noise::new(2).samples(ten_seconds);
    let inverted: Vec<f32> = noise.iter().map(|x| -x).collect();
    let silence = vec![0.0; ten_seconds];
    let tone = sine(1000.0, RATE, ten_seconds + 12);
    let table: [Case<'_>; 5] = [
        ("identical", &noise, &noise, 1.0, 0.0005),
        ("inverted", &noise, &inverted, -1.0, 0.0005),
        ("independent", &noise, &other, 0.0, 0.05),
        ("one missing", &noise, &silence, 0.0, 0.0),
        ("quarter turn", &tone[..ten_seconds], &tone[12..], 0.0, 0.01),
    ];
    for (case, first, second, want, tolerance) in table {
        let (meter, window) = readings(first, second);
        assert_near(&format!("{case}, meter"), meter, want, tolerance);
        assert_near(&format!("{case}, window"), window, want, tolerance);
    }
}

#[test]
fn noise_under_the_gate_reads_zero() {
    let quiet: Vec<f32> = Noise::new(3)
        .samples(96_000)
        .iter()
        .map(|x| x * 1e-5)
        .collect();
    let (meter, window) = readings(&quiet, &quiet);
    assert_near("meter", meter, 0.0, 0.001);
    assert_near("window", window, 1.0, 1e-9);
}
