//! A wow and flutter meter after AES6-2008 (the same as IEC 60386): 3150 Hz, weighted, two-sigma.

use std::f64::consts::TAU;

use realfft::RealFftPlanner;

use crate::support::assert_near;

/// Test tone of AES6-2008.
pub const TONE_HZ: f64 = 3150.0;

/// Weighting of AES6-2008: hertz, decibels.
pub const WEIGHTING: [(f64, f64); 17] = [
    (0.1, -48.0),
    (0.2, -30.6),
    (0.315, -19.7),
    (0.4, -15.0),
    (0.63, -8.4),
    (0.8, -6.0),
    (1.0, -4.2),
    (1.6, -1.8),
    (2.0, -0.9),
    (4.0, 0.0),
    (6.3, -0.9),
    (10.0, -2.1),
    (20.0, -5.9),
    (40.0, -10.4),
    (63.0, -14.2),
    (100.0, -17.3),
    (200.0, -23.0),
];

/// A rational fit to the table, within 0.4 dB: what an analogue meter's filter would be, gain 1 at 4 Hz. Poles and
/// zero in hertz are our own fit.
fn weight(hz: f64) -> f64 {
    let shape = |hz: f64| {
        let pole = |p: f64| p.hypot(hz);
        let resonance = {
            let (f0, damping) = (0.440_33, 1.512_06);
            (f0 * f0 - hz * hz).hypot(hz * f0 * damping)
        };
        hz.powi(3) / pole(1.5126) / resonance * (1.0 + (hz / 40.189).powi(2)).sqrt()
            / (1.0 + (hz / 9.0909).powi(2)).sqrt()
            / (1.0 + (hz / 54.279).powi(2)).sqrt()
    };
    shape(hz) / shape(4.0)
}

/// Weighted deviation in per cent that is passed 5 % of the time. Reads a tone near 3150 Hz; the first and last second
/// only settle the filters.
pub fn reading_percent(audio: &[f32], rate: f64) -> f64 {
    let step = (rate / 1000.0).round() as usize;
    let deviation = deviation(audio, rate, step);
    let mut weighted = weighted(&deviation, rate / step as f64);
    let edge = (rate / step as f64) as usize;
    weighted.truncate(weighted.len() - edge);
    let mut sizes: Vec<f64> = weighted[edge..].iter().map(|x| x.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    sizes[(sizes.len() as f64 * 0.95) as usize] * 100.0
}

/// Deviation of frequency as a part of 3150 Hz, every `step` samples: the tone is turned to 0 Hz, averaged over a Hann
/// window of 8 ms, and its phase differentiated.
fn deviation(audio: &[f32], rate: f64, step: usize) -> Vec<f64> {
    let width = 8 * step;
    let hann: Vec<f64> = (0..width)
        .map(|n| 0.5 - 0.5 * (TAU * (n as f64 + 0.5) / width as f64).cos())
        .collect();
    let phases: Vec<f64> = (0..(audio.len() - width) / step)
        .map(|k| {
            let (mut re, mut im) = (0.0, 0.0);
            for (n, window) in hann.iter().enumerate() {
                let place = k * step + n;
                let (sin, cos) = (TAU * (TONE_HZ / rate * place as f64).fract()).sin_cos();
                let x = f64::from(audio[place]) * window;
                (re, im) = (re + x * cos, im - x * sin);
            }
            im.atan2(re) / TAU
        })
        .collect();
    let turns = |w: &[f64]| w[1] - w[0] - (w[1] - w[0]).round();
    let per_step = rate / step as f64 / TONE_HZ;
    phases.windows(2).map(|w| turns(w) * per_step).collect()
}

fn weighted(deviation: &[f64], rate: f64) -> Vec<f64> {
    let mean = deviation.iter().sum::<f64>() / deviation.len() as f64;
    let size = (2 * deviation.len()).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, inverse) = (
        planner.plan_fft_forward(size),
        planner.plan_fft_inverse(size),
    );
    let mut time = forward.make_input_vec();
    for (time, x) in time.iter_mut().zip(deviation) {
        *time = x - mean;
    }
    let mut spectrum = forward.make_output_vec();
    forward
        .process(&mut time, &mut spectrum)
        .expect("its own buffers");
    for (index, line) in spectrum.iter_mut().enumerate() {
        *line *= weight(index as f64 * rate / size as f64) / size as f64;
    }
    spectrum[0].im = 0.0;
    spectrum[size / 2].im = 0.0;
    inverse
        .process(&mut spectrum, &mut time)
        .expect("its own buffers");
    time.truncate(deviation.len());
    time
}

/// 3150 Hz whose frequency swings by `part` at `hz`.
fn swinging(part: f64, hz: f64, rate: f64, seconds: f64) -> Vec<f32> {
    (0..(seconds * rate) as usize)
        .map(|n| n as f64 / rate)
        .map(|t| {
            let bend = part * TONE_HZ / hz * (1.0 - (TAU * hz * t).cos());
            (TAU * TONE_HZ * t + bend).sin() as f32
        })
        .collect()
}

#[test]
fn the_meters_filter_follows_the_table() {
    // AES6-2008; within 1 dB, 2 dB at both ends.
    for (hz, db) in WEIGHTING {
        let tolerance = if (0.3..150.0).contains(&hz) { 1.0 } else { 2.0 };
        let case = format!("{hz} Hz");
        assert_near(&case, 20.0 * weight(hz).log10(), db, tolerance);
    }
}

#[test]
fn published_check_tones() {
    // 3150 Hz swinging by 0.1 %: hertz, reading in %, tolerance. Quoted in the readme of an open AES6 meter from a
    // published guide to flutter measurement.
    let table = [
        (4.0, 0.1, 0.0997, 0.05),
        (0.8, 0.1, 0.0499, 0.05),
        (20.0, 0.1, 0.0506, 0.05),
        (0.2, 0.1, 0.0030, 0.20),
        (4.0, 0.01, 0.009_97, 0.05),
        (4.0, 1.0, 0.997, 0.05),
    ];
    for (hz, percent, want, part) in table {
        let got = reading_percent(&swinging(percent / 100.0, hz, 48_000.0, 32.0), 48_000.0);
        assert_near(&format!("{percent} % at {hz} Hz"), got, want, want * part);
    }
}
