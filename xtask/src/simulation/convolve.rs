//! Fast convolution of a track with a room's response.

use realfft::RealFftPlanner;

/// The track as heard through `response`, as long as the track.
pub fn convolve(track: &[f64], response: &[f64]) -> Vec<f64> {
    let size = (track.len() + response.len()).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let (forward, backward) = (
        planner.plan_fft_forward(size),
        planner.plan_fft_inverse(size),
    );
    let transform = |samples: &[f64]| {
        let mut padded = samples.to_vec();
        padded.resize(size, 0.0);
        let mut spectrum = forward.make_output_vec();
        // Cannot fail: both buffers have the plan's length.
        let _ = forward.process(&mut padded, &mut spectrum);
        spectrum
    };
    let mut product = transform(track);
    product
        .iter_mut()
        .zip(transform(response))
        .for_each(|(bin, other)| *bin *= other / size as f64);
    // The two real-valued bins may carry a rounding residue that the inverse refuses.
    product[0].im = 0.0;
    product[size / 2].im = 0.0;
    let mut samples = backward.make_output_vec();
    let _ = backward.process(&mut product, &mut samples);
    samples.truncate(track.len());
    samples
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_the_sum_written_out() {
        let mut random = fastrand::Rng::with_seed(5);
        let track: Vec<f64> = (0..97).map(|_| random.f64() - 0.5).collect();
        let response: Vec<f64> = (0..31).map(|_| random.f64() - 0.5).collect();
        for (n, sample) in convolve(&track, &response).iter().enumerate() {
            let sum: f64 = (0..=n.min(30)).map(|k| response[k] * track[n - k]).sum();
            assert!(
                (sample - sum).abs() < 1e-12,
                "sample {n}: {sample} against {sum}"
            );
        }
    }
}
