//! Two decks at different speeds: pitch, aliasing, drift and braking against their closed forms.

use std::f64::consts::{LN_2, TAU};

use plumbline_dsp::decks::drag::{BRAKE_S, DragControl, DragModel, FULL_DRAG};
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Pace};

use super::{RATE, Rig, cycle, moving_alone, still};
use crate::support::{assert_below, assert_near, db, magnitudes, sine, sine_at, write_csv};

/// A tone of `hz` through the moving deck alone while a hand draws a line of `speed` (s/s) through the null point.
/// Returns input place of the middle, and output.
fn ramped(hz: f64, rate: f64, speed: f64, block: usize) -> (Vec<f32>, f64, usize) {
    let count = ((0.022 / speed.abs()).min(2.0) * rate) as usize;
    let middle = count as f64 / 2.0;
    let mut rig = Rig::new(rate, 0);
    let mut audio = sine(hz, rate, count);
    // One point at the start of every block.
    let line = |n: usize| still(speed * (n as f64 - middle) / rate);
    for block in audio.chunks_mut(block) {
        let settings = line(rig.at);
        rig.block(block, &settings, &moving_alone());
    }
    let latency = rig.sweep.latency();
    (audio, middle, latency)
}

#[test]
fn a_drawn_line_is_exact_in_pitch_and_place() {
    // Target: relative error of the frequency at most 1e-6, everything else at most -110 dB, up to 5 % speed.
    let mut rows = Vec::new();
    for (rate, speed, block) in [
        (44_100.0, 0.01, 64),
        (48_000.0, 0.01, 1),
        (48_000.0, 0.01, 480),
        (48_000.0, -0.049, 64),
        (48_000.0, 0.02, 512),
        (96_000.0, 0.001, 960),
    ] {
        let (audio, middle, latency) = ramped(1000.0, rate, speed, block);
        let width = (0.06 * rate) as usize;
        let ideal = |n: usize| {
            let played = n as f64 - latency as f64;
            sine_at(1000.0, rate, played - speed * (played - middle))
        };
        let from = latency + width;
        let errors = (from..audio.len() - width).map(|n| f64::from(audio[n]) - ideal(n));
        let worst = db(errors.map(f64::abs).fold(0.0, f64::max));
        let frequency = frequency(
            &audio[from..audio.len() - width],
            1000.0 * (1.0 - speed),
            rate,
        );
        let want = 1000.0 * (1.0 - speed);
        let case = format!("{rate} Hz, speed {speed}, a point every {block}");
        assert_near(&case, frequency, want, want * 1e-6);
        assert_below(&format!("{case}, error in dB"), worst, -110.0);
        println!("{case}: {frequency:.6} Hz, everything else {worst:.1} dB");
        rows.push(vec![rate, speed, frequency, want, worst]);
    }
    write_csv(
        "sweep_doppler",
        "sample_rate,speed,hz,exact_hz,error_db",
        &rows,
    );
}

/// Frequency near `hz` from the phases of the first and the last third under a Hann window.
fn frequency(audio: &[f32], hz: f64, rate: f64) -> f64 {
    let third = audio.len() / 3;
    let phase = |start: usize| {
        let (mut re, mut im) = (0.0, 0.0);
        for n in 0..third {
            let window = 1.0 - (TAU * n as f64 / third as f64).cos();
            let (sin, cos) = (TAU * (hz / rate * (start + n) as f64).fract()).sin_cos();
            let x = f64::from(audio[start + n]) * window;
            (re, im) = (re + x * cos, im - x * sin);
        }
        im.atan2(re) / TAU
    };
    let turns = phase(2 * third) - phase(0);
    hz + (turns - turns.round()) * rate / (2 * third) as f64
}

#[test]
fn published_pitches() {
    // dD/dt = 0.01: 990.00 Hz; -0.049 (a drawn line cannot be faster than 5 %): 1049.0 Hz. Read head: 1 - dD/dt
    // (J. O. Smith, Physical Audio Signal Processing; formula from memory).
    for (speed, want) in [(0.01, 990.0), (-0.049, 1049.0)] {
        let (audio, _, latency) = ramped(1000.0, RATE, speed, 64);
        let got = frequency(&audio[latency + 3000..audio.len() - 3000], want, RATE);
        assert_near(&format!("speed {speed}"), got, want, 0.05);
    }
    // A deck 0.5 % slower: 8.63 cents, within 0.05 (1200 log2 1.005; exact for a slower deck is 1 / 0.995, 8.68).
    let (audio, _, latency) = ramped(1000.0, RATE, 0.005, 64);
    let got = frequency(&audio[latency + 3000..audio.len() - 3000], 995.0, RATE);
    let cents = 1200.0 * (1000.0 / got).ln() / LN_2;
    assert_near("cents", cents, 8.63, 0.05);
}

#[test]
fn a_fast_deck_does_not_fold_treble_into_the_audible() {
    // Reading faster by e folds what is above fs / 2(1 + e) to fs - (1 + e) fs / 2 and up (computed). 20 kHz at 44.1 kHz
    // read 4.9 % fast: a tone at 20.98 kHz, everything under 20 kHz at most -80 dB.
    let (audio, _, latency) = ramped(20_000.0, 44_100.0, -0.049, 64);
    let size = 8192;
    let part = &audio[latency + 3000..latency + 3000 + size];
    let nuttall = |n: usize| {
        // Nuttall's four-term window (1981), sidelobes under -93 dB.
        let w = TAU * n as f64 / size as f64;
        0.363_581_9 - 0.489_177_5 * w.cos() + 0.136_599_5 * (2.0 * w).cos()
            - 0.010_641_1 * (3.0 * w).cos()
    };
    let windowed = part
        .iter()
        .enumerate()
        .map(|(n, x)| f64::from(*x) * nuttall(n));
    let spectrum = magnitudes(windowed.collect());
    let line_hz = 44_100.0 / size as f64;
    let level = |line: usize| db(spectrum[line] / (0.363_581_9 * size as f64 / 2.0));
    let tone = (20_980.0 / line_hz).round() as usize;
    assert_near("tone, dB", level(tone), 0.0, 1.0);
    let loudest = (1..(20_000.0 / line_hz) as usize)
        .map(level)
        .fold(-400.0, f64::max);
    println!("20 kHz read 4.9 % fast: loudest product under 20 kHz {loudest:.1} dB");
    assert_below("products under 20 kHz, dB", loudest, -80.0);
}

#[test]
fn half_a_per_cent_of_speed_is_five_milliseconds_in_a_second() {
    // d grows by e seconds a second (computed). A triangle of ±10 ms in 8 s runs at 5 ms a second.
    let settings = cycle(Curve::Triangle, 0.010, Pace::Hertz(0.125));
    for rate in [44_100.0, 48_000.0, 192_000.0] {
        let mut rig = Rig::new(rate, 0);
        let mut audio = vec![0.0; rate as usize + rig.sweep.latency() + 1];
        for block in audio.chunks_mut(1) {
            rig.block(block, &settings, &MixSettings::default());
        }
        let offset_s = *rig.offsets.last().expect("blocks");
        assert_near(&format!("{rate} Hz, s"), offset_s, 0.005, 1.0 / rate);
    }
}

#[test]
fn braking_a_deck() {
    // d(t) = e (t - τ (1 - exp(-t / τ))): 0.5 % and 0.2 s give 4.007 ms after a second (computed; the time constant is an
    // order of magnitude from memory).
    assert_eq!(BRAKE_S, 0.2);
    for rate in [44_100.0, 48_000.0, 192_000.0] {
        let mut decks = DragModel::new(rate);
        for _ in 0..rate as usize {
            decks.step(DragControl::Brake(0.005 / FULL_DRAG), 0.012);
        }
        assert_near(
            &format!("{rate} Hz, ms"),
            decks.offset_s() * 1000.0,
            4.007,
            0.001,
        );
    }
}
