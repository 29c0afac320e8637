//! What the pair alone says without any knowledge of drums: whole-programme cross-correlation, plain and whitened.

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measurement::Polarity;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex64;

use crate::measure::Answer;
use crate::noise::Noise;
use crate::scene::delay;
use crate::support::assert_near;

/// Lags that are searched: 3 m of air, seconds.
const WIDEST_S: f64 = 3.0 / 343.2;

/// Weight of a bin of the cross-spectrum (Knapp & Carter 1976).
type Weighting = fn(Complex64) -> f64;

/// Plain cross-correlation of the whole programme.
pub fn cross_correlation(channels: [&[f32]; 3], _: Inputs, rate: f64) -> Option<Answer> {
    Some(highest(channels, rate, |_| 1.0))
}

/// Cross-correlation with the phase transform: every frequency counts alike.
pub fn phase_transform(channels: [&[f32]; 3], _: Inputs, rate: f64) -> Option<Answer> {
    Some(highest(channels, rate, |bin| {
        1.0 / bin.norm().max(f64::MIN_POSITIVE)
    }))
}

/// The highest magnitude of the weighted cross-correlation, between samples by a parabola (off by up to 0.12 sample for a
/// flat band). It claims neither a spread nor a confidence.
fn highest([first, second, _]: [&[f32]; 3], rate: f64, weighting: Weighting) -> Answer {
    let widest = (WIDEST_S * rate) as usize;
    let length = (first.len() + widest).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let forward = planner.plan_fft_forward(length);
    let [mut first, second] = [first, second].map(|channel| {
        let mut time = forward.make_input_vec();
        time.iter_mut()
            .zip(channel)
            .for_each(|(out, x)| *out = f64::from(*x));
        let mut spectrum = forward.make_output_vec();
        forward
            .process(&mut time, &mut spectrum)
            .expect("lengths fit");
        spectrum
    });
    for (a, b) in first.iter_mut().zip(&second) {
        let bin = a.conj() * b;
        *a = bin * weighting(bin);
    }
    let inverse = planner.plan_fft_inverse(length);
    let mut correlation = inverse.make_output_vec();
    (first[0].im, first[length / 2].im) = (0.0, 0.0);
    inverse
        .process(&mut first, &mut correlation)
        .expect("lengths fit");
    let at = |lag: i64| correlation[lag.rem_euclid(length as i64) as usize];
    let lags = -(widest as i64)..=widest as i64;
    let best = lags
        .max_by(|a, b| at(*a).abs().total_cmp(&at(*b).abs()))
        .expect("some lag");
    let [before, peak, after] = [-1, 0, 1].map(|step| at(best + step));
    let part = 0.5 * (before - after) / (before - 2.0 * peak + after);
    Answer {
        gap_samples: best as f64 + part,
        spread_samples: 0.0,
        confidence: 0.0,
        polarity: if peak < 0.0 {
            Polarity::Inverted
        } else {
            Polarity::Same
        },
        drum: String::new(),
        features: Vec::new(),
    }
}

/// Both find a lone source's delay, and its reversed cable, within the parabola's bias.
#[test]
fn a_lone_source_is_found() {
    let noise: Vec<f32> = Noise::new(1_000)
        .normals(1 << 15)
        .iter()
        .map(|x| 0.1 * *x as f32)
        .collect();
    let later: Vec<f32> = delay(&noise, 37.3).iter().map(|x| -x).collect();
    for estimator in [cross_correlation, phase_transform] {
        let answer = estimator([&noise, &later, &[]], Inputs::Pair, 48_000.0).expect("an answer");
        assert_near("lone source", answer.gap_samples, 37.3, 0.12);
        assert_eq!(answer.polarity, Polarity::Inverted);
    }
}
