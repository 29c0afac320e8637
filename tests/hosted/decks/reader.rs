//! The moving deck's pitch and purity under a line drawn by hand, and its corners.

use super::instance::{DecksInstance, DecksSession, Format, Pair, offsets_s, probe_tone};
use std::f64::consts::TAU;

/// Samples a second.
const RATE: f64 = 48_000.0;
/// Points of the drawn line are this far apart, samples.
const STEP: usize = 64;

/// Plays a tone of `hz` through the moving deck alone under a line of milliseconds over seconds.
fn drawn(format: Format, hz: f64, seconds: f64, line: impl Fn(f64) -> f64) -> (Pair, usize) {
    let mut decks = DecksInstance::open(
        DecksSession::of(format),
        &[("blend", 100.0), ("offset", line(0.0))],
    );
    let latency = decks.latency();
    let tone = |n: usize| (TAU * (hz / RATE * n as f64).fract()).sin() as f32;
    let tone: Vec<f32> = (0..(seconds * RATE) as usize).map(tone).collect();
    let out = decks.run_drawn(&[tone.clone(), tone], &mut || STEP, |decks, block| {
        decks.set("offset", line(block.start as f64 / RATE));
    });
    (out, latency)
}

/// The tone's frequency near `hz`, and the rms of everything else against it, dB: a sine is fitted by least squares.
fn fitted(audio: &[f32], hz: f64) -> (f64, f64) {
    let hz = hz + drift(audio, hz);
    let turn = |n: usize| (TAU * (hz / RATE * n as f64).fract()).sin_cos();
    let rows = || {
        audio
            .iter()
            .enumerate()
            .map(|(n, x)| (turn(n), f64::from(*x)))
    };
    let sum = |part: fn((f64, f64), f64) -> f64| -> f64 { rows().map(|(t, x)| part(t, x)).sum() };
    // Normal equations of a sine and a cosine.
    let (ss, sc, cc) = (
        sum(|t, _| t.0 * t.0),
        sum(|t, _| t.0 * t.1),
        sum(|t, _| t.1 * t.1),
    );
    let (sx, cx) = (sum(|t, x| t.0 * x), sum(|t, x| t.1 * x));
    let whole = ss * cc - sc * sc;
    let (a, b) = ((sx * cc - cx * sc) / whole, (cx * ss - sx * sc) / whole);
    let rest: f64 = rows()
        .map(|((sin, cos), x)| (x - a * sin - b * cos).powi(2))
        .sum();
    let tone = 0.5 * (a * a + b * b) * audio.len() as f64;
    (hz, 10.0 * (rest / tone).log10())
}

/// How far a tone is from `hz`, from the phases of its first and last third under a Hann window.
fn drift(audio: &[f32], hz: f64) -> f64 {
    let third = audio.len() / 3;
    let phase = |start: usize| {
        let window = |n: usize| 1.0 - (TAU * n as f64 / third as f64).cos();
        let part = &audio[start..start + third];
        let windowed = part
            .iter()
            .enumerate()
            .map(|(n, x)| f64::from(*x) * window(n));
        let (mut re, mut im) = (0.0, 0.0);
        for (n, x) in windowed.enumerate() {
            let (sin, cos) = (TAU * (hz / RATE * (start + n) as f64).fract()).sin_cos();
            (re, im) = (re + x * cos, im - x * sin);
        }
        im.atan2(re) / TAU
    };
    let turns = phase(2 * third) - phase(0);
    (turns - turns.round()) * RATE / (2 * third) as f64
}

#[test]
fn a_drawn_line_gives_the_exact_pitch_and_nothing_else() {
    // A reader whose delay grows by ε a second plays f (1 - ε): J. O. Smith, Physical Audio Signal Processing, "Doppler
    // simulation". Wanted: 1e-6 of the frequency, everything else at most -110 dB.
    for format in Format::BOTH {
        for speed in [0.01, -0.01, 0.04, -0.049] {
            // Through the null point in the middle, within ±11 ms.
            let seconds = (0.022 / f64::abs(speed)).min(1.6);
            let line = |at: f64| 1000.0 * speed * (at - 0.5 * seconds);
            let (out, latency) = drawn(format, 1000.0, seconds, line);
            let part = latency + 2400..out[0].len() - 2400;
            let want = 1000.0 * (1.0 - speed);
            for channel in &out {
                let (hz, rest_db) = fitted(&channel[part.clone()], want);
                let case =
                    format!("{format:?}, speed {speed}: {hz:.6} Hz, the rest {rest_db:.1} dB");
                println!("{case}");
                assert!((hz / want - 1.0).abs() <= 1e-6, "{case}");
                assert!(rest_db <= -110.0, "{case}");
            }
        }
    }
}

#[test]
fn a_straight_line_has_no_corner_but_its_own() {
    let speed = 0.02;
    let (from, to) = (0.3, 0.7);
    let line = |at: f64| 1000.0 * speed * (at.clamp(from, to) - 0.5 * (from + to));
    // The corners are rounded over 12 ms on either side.
    let near = |at: f64, corner: f64| (at - corner).abs() < 0.013;
    for format in Format::BOTH {
        let mut decks = DecksInstance::open(
            DecksSession::of(format),
            &[("blend", 100.0), ("offset", line(0.0))],
        );
        let latency = decks.latency();
        let out = decks.run_drawn(&probe_tone(RATE, 48_000), &mut || STEP, |decks, block| {
            decks.set("offset", line(block.start as f64 / RATE));
        });
        let offsets = offsets_s(&out, RATE, latency);
        // Speed over each millisecond. Along the line it is the line's, outside it is zero; between them it never
        // turns, and never changes by more than a tenth of the corner in a millisecond.
        let speeds: Vec<(f64, f64)> = (960..offsets.len() - 960)
            .step_by(48)
            .map(|n| {
                let speed = (offsets[n + 48] - offsets[n]) * RATE / 48.0;
                ((n + 24) as f64 / RATE, speed)
            })
            .collect();
        for &(at, got) in &speeds {
            let due = if at > from && at < to { speed } else { 0.0 };
            if near(at, from) || near(at, to) {
                let within = (-1e-5..=speed + 1e-5).contains(&got);
                assert!(within, "{format:?}, {at} s: {got}");
            } else {
                assert!(
                    (got - due).abs() < 1e-5,
                    "{format:?}, {at} s: {got} for {due}"
                );
            }
        }
        let changes = speeds.windows(2).map(|pair| (pair[1].1 - pair[0].1).abs());
        let sharpest = changes.fold(0.0, f64::max) / speed;
        println!("{format:?}: sharpest change in a millisecond {sharpest:.3} of the corner");
        assert!(sharpest <= 0.5, "{format:?}: {sharpest}");
    }
}
