//! The delay estimator against the Cramer-Rao bound, and against delays that are known to any digit.

use std::f64::consts::{PI, TAU};

use plumbline_dsp::measure::pair::cross_spectrum::{
    Band, DelayEstimator, EstimatorSetup, LagSearch, Placed, Way, Window,
};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

use crate::scene::Noise;
use crate::support::{assert_below, write_csv};

const RATE: f64 = 48_000.0;
const LENGTH: usize = 4_096;

/// Noise of unit variance between two frequencies, twice: as it is, and ideally delayed.
fn pair(
    noise: &mut Noise,
    from_hz: f64,
    to_hz: f64,
    delay: f64,
    planner: &mut RealFftPlanner<f64>,
) -> [Vec<f64>; 2] {
    let inverse = planner.plan_fft_inverse(LENGTH);
    let mut spectrum = inverse.make_input_vec();
    let bin = |hz: f64| (hz * LENGTH as f64 / RATE).round() as usize;
    let bins = bin(from_hz).max(1)..bin(to_hz).min(LENGTH / 2);
    let scale = 1.0 / (2.0 * bins.len() as f64).sqrt();
    for bin in &mut spectrum[bins] {
        *bin = Complex64::new(noise.normal(), noise.normal()) * scale;
    }
    [0.0, delay].map(|delay| {
        let turn = |(k, bin): (usize, &Complex64)| {
            bin * Complex64::cis(-TAU * delay * k as f64 / LENGTH as f64)
        };
        let mut turned: Vec<Complex64> = spectrum.iter().enumerate().map(turn).collect();
        let mut time = inverse.make_output_vec();
        inverse
            .process(&mut turned, &mut time)
            .expect("lengths fit");
        time
    })
}

fn to_f32(signal: &[f64]) -> Vec<f32> {
    signal.iter().map(|x| *x as f32).collect()
}

/// Cramer-Rao bound for a flat coherence over a band (Carter 1987, Proc. IEEE 75(2); from memory), in seconds.
fn bound_s(seconds: f64, coherence: f64, from_hz: f64, to_hz: f64) -> f64 {
    let band = to_hz.powi(3) - from_hz.powi(3);
    (3.0 * (1.0 - coherence) / (8.0 * PI * PI * seconds * coherence * band)).sqrt()
}

/// 1000 trials of 20 ms, 200 Hz to 8 kHz, two coherences: rms error within 1.2 times the bound.
#[test]
fn reaches_the_cramer_rao_bound() {
    let (from_hz, to_hz, seconds, trials) = (200.0, 8_000.0, 0.020, 1_000);
    let mut planner = RealFftPlanner::new();
    let mut noise = Noise::new(14);
    let mut rows = Vec::new();
    let mut estimator = DelayEstimator::new(EstimatorSetup {
        rate: RATE,
        window: Window {
            rise_s: 0.0,
            flat_s: seconds,
            fall_s: 0.0,
        },
        band: Band {
            low_hz: 150.0,
            high_hz: 10_500.0,
        },
        whitening: 0.0,
    });
    for coherence in [0.9f64, 0.5] {
        let magnitude = coherence.sqrt();
        let noise_gain = ((1.0 - magnitude) / magnitude).sqrt();
        let mut squares = 0.0;
        for _ in 0..trials {
            let delay = noise.between(-0.5, 0.5);
            let mut heard = pair(&mut noise, from_hz, to_hz, delay, &mut planner);
            for channel in &mut heard {
                let [own, _] = pair(&mut noise, from_hz, to_hz, 0.0, &mut planner);
                channel
                    .iter_mut()
                    .zip(own)
                    .for_each(|(x, n)| *x += noise_gain * n);
            }
            let [first, second] = heard.map(|x| to_f32(&x));
            let lag = lag(&mut estimator, &first, &second, 1_500.0, 5.0);
            squares += (lag - delay).powi(2);
        }
        let rms_s = (squares / f64::from(trials)).sqrt() / RATE;
        let bound_s = bound_s(seconds, coherence, from_hz, to_hz);
        println!(
            "coherence {coherence}: rms {:.3} us, bound {:.3} us, ratio {:.3}",
            rms_s * 1e6,
            bound_s * 1e6,
            rms_s / bound_s
        );
        rows.push(vec![coherence, rms_s * 1e6, bound_s * 1e6]);
        assert_below("rms to bound", rms_s / bound_s, 1.2);
    }
    write_csv("bound", "coherence,rms_us,bound_us", &rows);
}

/// The windows move with the lag until nothing is left of it.
fn lag(estimator: &mut DelayEstimator, first: &[f32], second: &[f32], at: f64, radius: f64) -> f64 {
    let mut lag = 0.0;
    for _ in 0..4 {
        let mut spectrum = vec![Complex64::default(); estimator.bins()];
        let placed = |signal, at| Placed { signal, at };
        estimator.add_cross_spectrum(placed(first, at), placed(second, at + lag), &mut spectrum);
        let search = LagSearch {
            centre: -lag,
            radius,
            way: Way::Either,
        };
        lag += estimator.highest(&spectrum, 0..spectrum.len(), search).lag;
    }
    lag
}

/// Band-limited noise, no other noise, any fraction: within 0.002 sample.
#[test]
fn known_fractions_without_noise() {
    let mut planner = RealFftPlanner::new();
    let mut noise = Noise::new(12);
    let mut estimator = DelayEstimator::new(EstimatorSetup {
        rate: RATE,
        window: Window {
            rise_s: 0.005,
            flat_s: 0.015,
            fall_s: 0.005,
        },
        band: Band {
            low_hz: 200.0,
            high_hz: 18_000.0,
        },
        whitening: 0.7,
    });
    let mut rows = Vec::new();
    for delay in [0.0, 0.25, 0.5, 3.37, -7.81, 41.9] {
        let heard = pair(&mut noise, 50.0, 23_000.0, delay, &mut planner);
        let [first, second] = heard.map(|x| to_f32(&x));
        let error = (lag(&mut estimator, &first, &second, 1_500.0, 50.0) - delay).abs();
        println!("delay {delay}: error {error:.2e} samples");
        rows.push(vec![delay, error]);
        assert_below("known fraction", error, 0.002);
    }
    write_csv("known_fractions", "delay_samples,error_samples", &rows);
}

/// Why the peak is not taken between three points: on a full-band peak the parabola is off by up to 0.119 sample;
/// the exact correction d = (sqrt(32 p^2 + 1) - 1) / (8 p) leaves nothing (own algebra on the sampled sinc).
#[test]
fn three_point_parabola_is_biased() {
    let sinc = |x: f64| {
        if x == 0.0 {
            1.0
        } else {
            (PI * x).sin() / (PI * x)
        }
    };
    let (mut worst, mut worst_corrected) = (0.0f64, 0.0f64);
    for n in 1..500 {
        let d = n as f64 / 1_000.0;
        let [before, at, after] = [-1.0, 0.0, 1.0].map(|x| sinc(x - d));
        let p = 0.5 * (before - after) / (before - 2.0 * at + after);
        worst = worst.max((p - d).abs());
        let corrected = ((32.0 * p * p + 1.0).sqrt() - 1.0) / (8.0 * p);
        worst_corrected = worst_corrected.max((corrected - d).abs());
    }
    println!("parabola off by up to {worst:.4}, corrected {worst_corrected:.1e} samples");
    assert!((worst - 0.119).abs() < 0.001, "{worst}");
    assert_below("corrected", worst_corrected, 1e-9);
}
