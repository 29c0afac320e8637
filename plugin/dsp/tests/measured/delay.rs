//! Both readers against the ideal delay, through audio in single precision as the plugin runs it.

use std::f64::consts::TAU;

use plumbline_dsp::delay::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader};
use plumbline_dsp::delay::sinc_kernel::{ReadKernel, kaiser_beta};

use crate::support::{assert_below, assert_near, db, sine, sine_at, write_csv};

/// Samples measured; the line is full before.
const COUNT: usize = 4096;
const START: usize = 512;

/// A tone of `hz` read `delay` samples back by the fixed reader.
fn fixed(hz: f64, rate: f64, delay: f64) -> Vec<f32> {
    let kernel = ReadKernel::for_rate(rate);
    let reader = FixedReader::new(kernel, delay);
    read_all(&sine(hz, rate, START + COUNT), |line, _, out| {
        reader.read(line, out);
    })
}

/// A tone read at a delay that is a function of the sample's number.
fn moving(hz: f64, rate: f64, delay: impl Fn(f64) -> f64) -> Vec<f32> {
    let reader = MovingReader::new(ReadKernel::for_rate(rate));
    read_all(&sine(hz, rate, START + COUNT), |line, place, out| {
        let delays: Vec<f64> = (place..place + out.len())
            .map(|n| delay(n as f64))
            .collect();
        reader.read(line, &delays, out);
    })
}

/// Pushes and reads in chunks; returns the last `COUNT` samples.
fn read_all(input: &[f32], mut read: impl FnMut(&DelayLine, usize, &mut [f32])) -> Vec<f32> {
    let mut line = DelayLine::new(START + CHUNK);
    let mut out = vec![0.0; input.len()];
    for (index, (x, y)) in input.chunks(CHUNK).zip(out.chunks_mut(CHUNK)).enumerate() {
        line.push(x);
        read(&line, index * CHUNK, y);
    }
    out.split_off(START)
}

/// Largest error against a full-scale tone read at `delay(n)`.
fn error(got: &[f32], hz: f64, rate: f64, delay: impl Fn(f64) -> f64) -> f64 {
    let errors = got.iter().enumerate().map(|(index, y)| {
        let n = (START + index) as f64;
        (f64::from(*y) - sine_at(hz, rate, n - delay(n))).abs()
    });
    errors.fold(0.0, f64::max)
}

/// Amplitude and delay in samples (near `delay`) of the best sine through `got`.
fn fit(got: &[f32], hz: f64, rate: f64, delay: f64) -> (f64, f64) {
    let w = TAU * hz / rate;
    let (mut cc, mut ss, mut cs, mut yc, mut ys) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (index, y) in got.iter().enumerate() {
        let (s, c) = (w * ((START + index) as f64 - delay)).sin_cos();
        let y = f64::from(*y);
        (cc, ss, cs) = (cc + c * c, ss + s * s, cs + c * s);
        (yc, ys) = (yc + y * c, ys + y * s);
    }
    let det = cc * ss - cs * cs;
    let (a, b) = ((ys * cc - yc * cs) / det, (yc * ss - ys * cs) / det);
    (a.hypot(b), delay - b.atan2(a) / w)
}

const FRACTIONS: [f64; 9] = [0.0, 0.01, 0.1, 0.25, 0.3701, 0.5, 0.6667, 0.9, 0.9999];

/// Tones measured at a rate, Hz: up to 20 kHz where the rate has it, else up to 20 / 44.1 of the rate.
fn tones(rate: f64) -> impl Iterator<Item = f64> {
    let top = (rate * 20.0 / 44.1).min(20_000.0);
    let fixed = [10.0, 31.5, 100.0, 315.0, 1000.0, 2000.0, 3150.0];
    let high = (1..=10).map(move |step| top * f64::from(step) / 10.0);
    fixed.into_iter().chain(high)
}

#[test]
fn any_fraction_at_any_rate() {
    // Target: error at most -110 dB, magnitude within 0.0001 dB, 10 Hz to 20 kHz.
    let mut rows = Vec::new();
    for rate in [
        8_000.0, 44_100.0, 48_000.0, 88_200.0, 96_000.0, 192_000.0, 768_000.0,
    ] {
        let mut worst = (-400.0f64, 0.0f64, 0.0f64);
        for fraction in FRACTIONS {
            let delay = 100.0 + fraction;
            for hz in tones(rate) {
                let got = fixed(hz, rate, delay);
                let error = db(error(&got, hz, rate, |_| delay));
                let (amplitude, measured) = fit(&got, hz, rate, delay);
                let case = format!("{rate} Hz, {delay} samples, tone of {hz} Hz");
                assert_below(&format!("{case}, error in dB"), error, -110.0);
                worst.0 = worst.0.max(error);
                if hz >= rate * 2.0 / COUNT as f64 {
                    // Below two periods in the window a fit says nothing.
                    assert_below(
                        &format!("{case}, magnitude in dB"),
                        db(amplitude).abs(),
                        1e-4,
                    );
                    assert_near(&format!("{case}, delay"), measured, delay, 1e-4);
                    worst.1 = worst.1.max(db(amplitude).abs());
                    worst.2 = worst.2.max((measured - delay).abs());
                }
                rows.push(vec![
                    rate,
                    delay,
                    hz,
                    error,
                    db(amplitude),
                    measured - delay,
                ]);
            }
        }
        println!(
            "fixed reader, {rate} Hz: error {:.1} dB, magnitude {:.1e} dB, delay {:.1e} samples",
            worst.0, worst.1, worst.2
        );
    }
    let header = "sample_rate,delay_samples,hz,error_db,magnitude_db,delay_error_samples";
    write_csv("fixed_reader", header, &rows);
}

#[test]
fn the_kernel_up_to_its_edge_at_96_khz() {
    // The short kernel's own promise: 0.4167 of the rate.
    for fraction in FRACTIONS {
        let delay = 100.0 + fraction;
        let got = fixed(40_000.0, 96_000.0, delay);
        let error = db(error(&got, 40_000.0, 96_000.0, |_| delay));
        assert_below(&format!("{delay} samples, 40 kHz"), error, -110.0);
    }
}

#[test]
fn moving_reader_under_constant_speed() {
    // Target: everything but the Doppler-exact tone at most -110 dB, up to 5 % speed, for 1 kHz.
    let mut rows = Vec::new();
    for rate in [44_100.0, 48_000.0, 96_000.0] {
        for slope in [-0.05, -0.01, -0.001, 0.0, 1e-7, 0.001, 0.00503, 0.01, 0.05] {
            for hz in [100.0, 1000.0, 5000.0, 10_000.0, 18_000.0] {
                let middle = (START + COUNT / 2) as f64;
                let delay = |n: f64| 300.123 + slope * (n - middle);
                let error = db(error(&moving(hz, rate, delay), hz, rate, delay));
                rows.push(vec![rate, slope, hz, error]);
                let case = format!("{rate} Hz, speed {slope}, tone of {hz} Hz");
                assert_below(&case, error, -110.0);
            }
        }
    }
    let worst = rows.iter().map(|row| row[3]).fold(-400.0, f64::max);
    println!("moving reader, worst error {worst:.1} dB");
    write_csv("moving_reader", "sample_rate,speed,hz,error_db", &rows);
}

#[test]
fn kaiser_window_parameter() {
    // Kaiser 1974, by its published formula: stop band in dB, β.
    for (attenuation, beta) in [(60.0, 5.653), (80.0, 7.857), (100.0, 10.061)] {
        let case = format!("{attenuation} dB");
        assert_near(&case, kaiser_beta(attenuation), beta, 0.002);
    }
}

/// Thiran's all-pass of order 3: denominator for a delay of `d` samples (Laakso et al. 1996, "Splitting the unit
/// delay", eq. 86).
fn thiran(d: f64) -> [f64; 4] {
    let binomial = [1.0, 3.0, 3.0, 1.0];
    std::array::from_fn(|k| {
        let sign = if k % 2 == 0 { 1.0 } else { -1.0 };
        let product = (0..=3).map(|n| {
            let n = f64::from(n);
            (d - 3.0 + n) / (d - 3.0 + k as f64 + n)
        });
        sign * binomial[k] * product.product::<f64>()
    })
}

#[test]
fn an_all_pass_of_another_kind_agrees_at_low_frequencies() {
    // MathWorks' documentation of `thiran`: order 3 for 2.4 samples.
    let denominator = thiran(2.4);
    for (got, want) in denominator.iter().zip([1.0, 0.5294, -0.04813, 0.004159]) {
        assert_near("Thiran coefficient", *got, want, 1e-4);
    }
    let input = sine(200.0, 48_000.0, START + COUNT);
    let mut all_pass = vec![0.0f64; input.len()];
    for n in 3..input.len() {
        let x = |k: usize| f64::from(input[n - k]);
        let numerator = (0..4).map(|k| denominator[3 - k] * x(k)).sum::<f64>();
        let feedback = (1..4)
            .map(|k| denominator[k] * all_pass[n - k])
            .sum::<f64>();
        all_pass[n] = numerator - feedback;
    }
    let ours = fixed(200.0, 48_000.0, 102.4);
    for (index, y) in ours.iter().enumerate().skip(100) {
        let case = format!("sample {index}");
        assert_near(&case, f64::from(*y), all_pass[START + index - 100], 1e-6);
    }
}
