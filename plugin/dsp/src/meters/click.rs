//! The largest step of a signal: a click shows as a step above the signal's own.

/// Largest difference between neighbouring samples; 0 for fewer than two.
pub fn largest_step(samples: &[f32]) -> f64 {
    let steps = samples.windows(2).map(|w| f64::from((w[1] - w[0]).abs()));
    steps.fold(0.0, f64::max)
}
