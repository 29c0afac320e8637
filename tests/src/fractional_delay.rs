//! Delays by any part of a sample, for simulated takes.

use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

/// Delays a signal, samples: a phase slope, exact for what lies in the band. What is moved past the end is lost.
pub fn delayed(signal: &[f32], by: f64) -> Vec<f32> {
    let size = (signal.len() + 64).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let mut padded: Vec<f64> = signal.iter().map(|sample| f64::from(*sample)).collect();
    padded.resize(size, 0.0);
    let mut spectrum = vec![Complex::default(); size / 2 + 1];
    planner
        .plan_fft_forward(size)
        .process(&mut padded, &mut spectrum)
        .expect("a transform");
    for (bin, value) in spectrum.iter_mut().enumerate() {
        *value *= Complex::from_polar(
            1.0 / size as f64,
            -std::f64::consts::TAU * bin as f64 / size as f64 * by,
        );
    }
    spectrum[size / 2] = Complex::new(spectrum[size / 2].re, 0.0);
    planner
        .plan_fft_inverse(size)
        .process(&mut spectrum, &mut padded)
        .expect("a transform");
    padded[..signal.len()]
        .iter()
        .map(|sample| *sample as f32)
        .collect()
}
