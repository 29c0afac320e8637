//! Linear-phase filters of a wanted magnitude: weighted least squares (Parks and Burrus, "Digital Filter Design", ch. 3).

use std::f64::consts::TAU;

use super::linear_system::solve;

/// How much an error above the band weighs against one inside it.
const ABOVE: f64 = 0.02;
/// Frequencies asked for each unknown tap, and at least this many.
const DENSITY: usize = 6;
/// See [`DENSITY`].
const FEWEST: usize = 500;

/// 2 `half` + 1 taps whose magnitude follows `wanted` (of hertz, above 0) with even relative error up to `top_hz`.
pub fn linear_phase(
    wanted: impl Fn(f64) -> f64,
    half: usize,
    top_hz: f64,
    sample_rate: f64,
) -> Vec<f32> {
    let count = (DENSITY * half).max(FEWEST);
    // Sums over frequency of weight² cos mω and weight² wanted cos mω give the whole system.
    let mut even = vec![0.0; 2 * half + 1];
    let mut right = vec![0.0; half + 1];
    for index in 0..=count {
        let hz = index as f64 / count as f64 * sample_rate / 2.0;
        let magnitude = wanted(hz);
        let weight = if hz <= top_hz { 1.0 } else { ABOVE };
        let square = (weight / magnitude).powi(2);
        let turn = Turn::new(hz / sample_rate);
        for (sum, cosine) in even.iter_mut().zip(turn) {
            *sum += square * cosine;
        }
        for (sum, cosine) in right.iter_mut().zip(turn) {
            *sum += square * magnitude * cosine;
        }
    }
    let row = |i: usize| -> Vec<f64> {
        let product = |j: usize| 0.5 * (even[i.abs_diff(j)] + even[i + j]);
        (0..=half).map(product).collect()
    };
    let mut system: Vec<_> = (0..=half).map(row).collect();
    solve(&mut system, &mut right);
    mirrored(&right)
}

/// Taps of a cosine series.
fn mirrored(series: &[f64]) -> Vec<f32> {
    let half = series.len() - 1;
    let tap = |n: usize| match n.abs_diff(half) {
        0 => series[0],
        m => 0.5 * series[m],
    };
    (0..=2 * half).map(|n| tap(n) as f32).collect()
}

/// cos mω for m = 0, 1, 2, ...
#[derive(Clone, Copy)]
struct Turn {
    step: (f64, f64),
    at: (f64, f64),
}

impl Turn {
    fn new(turns: f64) -> Self {
        Self {
            step: (TAU * turns).sin_cos(),
            at: (0.0, 1.0),
        }
    }
}

impl Iterator for Turn {
    type Item = f64;

    fn next(&mut self) -> Option<f64> {
        let ((sine, cosine), (s, c)) = (self.at, self.step);
        self.at = (sine * c + cosine * s, cosine * c - sine * s);
        Some(cosine)
    }
}
