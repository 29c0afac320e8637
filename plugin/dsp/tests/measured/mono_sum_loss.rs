//! What the mono sum loses: closed forms, noise with a known delay, and tones in their third octave.

use std::f64::consts::{PI, TAU};

use plumbline_dsp::meters::correlation::{Powers, correlation};
use plumbline_dsp::meters::mono_sum_loss::*;
use plumbline_dsp::meters::pair_spectrum::{PairShift, PairSpectrumMeter};
use realfft::RealFftPlanner;
use realfft::num_complex::Complex;

use crate::noise::Noise;
use crate::support::{assert_below, assert_near, db, sine, write_csv};

const RATE: f64 = 48_000.0;

#[test]
fn loss_from_correlation() {
    // Correlation and loss in dB at equal power: 10 log ((1 + ρ) / 2).
    let table = [
        (1.0, 0.0),
        (0.9, -0.22),
        (0.5, -1.25),
        (0.0, -3.01),
        (-0.5, -6.02),
        (-0.9, -13.01),
    ];
    for (shared, loss) in table {
        let powers = Powers {
            first: 1.0,
            second: 1.0,
            shared,
        };
        let case = format!("correlation {shared}");
        assert_near(&case, mono_sum_loss_db(powers), loss, 0.01);
    }
    let gone = Powers {
        first: 1.0,
        second: 1.0,
        shared: -1.0,
    };
    assert_eq!(mono_sum_loss_db(gone), FLOOR_DB);
    assert_eq!(mono_sum_loss_db(Powers::default()), 0.0);
}

#[test]
fn loss_of_a_delayed_sine() {
    // Turns of delay and loss in dB: 20 log |cos πfτ|.
    for (turns, loss) in [(0.25, -3.01), (1.0 / 3.0, -6.02), (0.45, -16.1)] {
        let count = 48_000;
        let (first, second): (Vec<f32>, Vec<f32>) = (0..count)
            .map(|n| TAU * f64::from(n) * 997.0 / RATE)
            .map(|phase| (phase.sin() as f32, (phase - TAU * turns).sin() as f32))
            .unzip();
        let got = mono_sum_loss_db(Powers::of(&first, &second));
        assert_near(&format!("{turns} turns"), got, loss, 0.02);
    }
}

/// Noise with |spectrum|² falling as f^-`slope` from 20 Hz to 20 kHz, repeating without a seam.
fn noise(slope: f64, size: usize) -> Vec<f32> {
    let plan = RealFftPlanner::<f64>::new().plan_fft_inverse(size);
    let mut spectrum = plan.make_input_vec();
    let mut random = Noise::new(7);
    for (index, line) in spectrum.iter_mut().enumerate() {
        let hz = index as f64 * RATE / size as f64;
        if (20.0..=20_000.0).contains(&hz) {
            *line = Complex::from_polar(hz.powf(-slope / 2.0), PI * random.signed());
        }
    }
    let mut time = plan.make_output_vec();
    plan.process(&mut spectrum, &mut time)
        .expect("its own buffers");
    let peak = time.iter().fold(0.0f64, |peak, x| peak.max(x.abs()));
    time.iter().map(|x| (x / peak) as f32).collect()
}

#[test]
fn noise_delayed_by_one_sample() {
    // Mean of S(f) cos 2πfτ over 20 Hz to 20 kHz at 48 kHz, computed.
    for (name, slope, want) in [("white", 0.0, 0.190), ("pink", 1.0, 0.813)] {
        let first = noise(slope, 1 << 18);
        let mut second = first.clone();
        second.rotate_right(1);
        assert_near(name, correlation(&first, &second), want, 0.01);
    }
}

/// Samples of one stretch, 62 ms as the analysis keeps of a hit.
const STRETCH: usize = 2976;

/// Losses of two signals cut into stretches.
fn losses_db(first: &[f32], second: &[f32]) -> [f64; BANDS] {
    let stretches = first
        .chunks_exact(STRETCH)
        .zip(second.chunks_exact(STRETCH))
        .map(|(first, second)| [first, second, &[]]);
    let spectrum = PairSpectrumMeter::new(RATE, STRETCH).measure(stretches);
    let losses = spectrum.losses_db(PairShift::default());
    losses.map(|loss| loss.expect("every band was recorded"))
}

#[test]
fn tones_lose_in_their_own_third_octave() {
    let delay = 10.0;
    let mut rows = Vec::new();
    for band in 0..BANDS {
        let hz = band_hz(band);
        let tone = sine(hz, RATE, 8 * STRETCH + 10);
        let got = losses_db(&tone[10..], &tone[..8 * STRETCH])[band];
        let want = db((PI * hz * delay / RATE).cos().abs()).max(FLOOR_DB);
        rows.push(vec![hz, want, got]);
        assert_near(&format!("{hz:.0} Hz"), got, want, 0.05);
    }
    write_csv("third_octaves", "hz,closed_form_db,measured_db", &rows);
}

#[test]
fn third_octaves_lie_where_the_standard_has_them() {
    // IEC 61260-1:2014, annex E: exact mid-band frequencies of the base-ten system.
    let table = [
        (0, 31.623),
        (5, 100.0),
        (9, 251.19),
        (15, 1000.0),
        (22, 5011.9),
    ];
    for (band, hz) in table {
        assert_near(&format!("band {band}"), band_hz(band), hz, hz * 1e-5);
    }
}

#[test]
fn the_worst_band_of_a_delayed_pair_holds_the_null() {
    let first = noise(1.0, 1 << 16);
    let mut second = first.clone();
    second.rotate_right(24);
    let losses = losses_db(&first, &second);
    let worst = (0..BANDS).min_by(|a, b| losses[*a].total_cmp(&losses[*b]));
    let case = "24 samples make their first null at 1 kHz";
    assert_eq!(worst.map(band_hz), Some(1000.0), "{case}: {losses:?}");
    assert_below(case, losses[15], -10.0);
    let aligned = losses_db(&first, &first);
    assert!(aligned.iter().all(|loss| loss.abs() < 1e-6), "{aligned:?}");
}
