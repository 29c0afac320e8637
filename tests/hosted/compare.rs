//! Compare: the input as it came in, as late and as loud as what it replaces, in hosts of either format.

use crate::decks::instance::{DecksInstance, DecksSession, Format, Pair, difference_db};
use crate::vst3::host::Render;
use plumbline_dsp::meters::click::largest_step;
use plumbline_dsp::meters::loudness::loudness_lkfs;
use plumbline_hosting::noise;
use std::f64::consts::TAU;

const RATE: f64 = 48_000.0;
/// The first channel leads by so many samples: a nudge of a quarter of a millisecond brings both together.
const GAP: usize = 12;

/// A control and its value in its own unit.
type Setting = (&'static str, f64);

/// What the plugin does to the pair: its monitor, and how far its loudness is from the input's at least, LU.
struct Case {
    name: &'static str,
    settings: &'static [Setting],
    mono: bool,
    apart_lu: f64,
}

const CASES: [Case; 4] = [
    Case {
        name: "aligned, mono",
        settings: &[("mode", 0.0), ("nudge_first", 0.25), ("monitor", 1.0)],
        mono: true,
        apart_lu: 1.0,
    },
    Case {
        name: "aligned and down by 9 dB",
        settings: &[("mode", 0.0), ("nudge_first", 0.25), ("output", -9.0)],
        mono: false,
        apart_lu: 0.0,
    },
    Case {
        name: "decks in a cycle",
        settings: &[("motion", 1.0), ("sync", 0.0), ("rate", 0.5)],
        mono: false,
        apart_lu: 2.0,
    },
    Case {
        name: "print, hot",
        settings: &[("mode", 0.0), ("print", 1.0), ("tape_level", 18.0)],
        mono: false,
        apart_lu: 1.0,
    },
];

/// Noise of a drum's kind: bursts that decay, four a second.
fn drums(count: usize) -> Pair {
    let burst = |n: usize| (-8.0 * (n % 12_000) as f32 / 12_000.0).exp();
    let first = noise(count + GAP, 5);
    let first: Vec<f32> = first
        .iter()
        .enumerate()
        .map(|(n, x)| 0.4 * burst(n) * x)
        .collect();
    let second = first[..count].to_vec();
    [first[GAP..].to_vec(), second]
}

fn seconds(of: f64) -> usize {
    (of * RATE) as usize / 64 * 64
}

/// Plays `input`; Compare is held from one sample to another.
fn played(
    session: DecksSession,
    settings: &[Setting],
    input: &Pair,
    held: (usize, usize),
) -> (Pair, usize) {
    let mut instance = DecksInstance::open(session, settings);
    let out = instance.run_drawn(input, &mut || 64, |instance, block| {
        if block.start == held.0 {
            instance.set("compare", 1.0);
        }
        if block.start == held.1 {
            instance.set("compare", 0.0);
        }
    });
    (out, instance.latency())
}

fn cut(pair: &Pair, range: std::ops::Range<usize>) -> Pair {
    [0, 1].map(|channel| pair[channel][range.clone()].to_vec())
}

fn lkfs(pair: &Pair) -> f64 {
    loudness_lkfs(&[&pair[0], &pair[1]], RATE).unwrap()
}

/// The gain that fits `out` to `input` best, and what is left, dB of `out`.
fn fitted(input: &[f32], out: &[f32]) -> (f64, f64) {
    let dot = |a: &[f32], b: &[f32]| -> f64 {
        a.iter()
            .zip(b)
            .map(|(a, b)| f64::from(*a) * f64::from(*b))
            .sum()
    };
    let gain = dot(input, out) / dot(input, input);
    let rest: f64 = input
        .iter()
        .zip(out)
        .map(|(input, out)| (f64::from(*out) - gain * f64::from(*input)).powi(2))
        .sum();
    (gain, 10.0 * (rest / dot(out, out)).log10())
}

#[test]
fn it_is_the_input_as_late_and_as_loud() {
    let input = drums(seconds(14.0));
    let (pressed, released) = (seconds(6.0), seconds(12.0));
    let settled = pressed + 4_800..released;
    for format in Format::BOTH {
        for case in &CASES {
            let label = format!("{format:?}, {}", case.name);
            let session = DecksSession::of(format);
            let (with, latency) = played(session, case.settings, &input, (pressed, released));
            let (without, _) = played(session, case.settings, &input, (usize::MAX, usize::MAX));
            let before = settled.start - latency..settled.end - latency;
            let mut untouched = cut(&input, before);
            if case.mono {
                let sum = |(a, b): (&f32, &f32)| 0.5 * (a + b);
                let mono: Vec<f32> = untouched[0].iter().zip(&untouched[1]).map(sum).collect();
                untouched = [mono.clone(), mono];
            }
            let (heard, replaced) = (cut(&with, settled.clone()), cut(&without, settled.clone()));
            let windows = untouched[0]
                .chunks_exact(4_800)
                .zip(heard[0].chunks_exact(4_800));
            let fits: Vec<(f64, f64)> = windows.map(|(input, out)| fitted(input, out)).collect();
            let left = fits.iter().fold(f64::MIN, |worst, fit| worst.max(fit.1));
            let gains = fits.iter().map(|fit| 20.0 * fit.0.log10());
            let (least, most) = gains.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
            let off = lkfs(&heard) - lkfs(&replaced);
            let apart = (lkfs(&untouched) - lkfs(&replaced)).abs();
            println!(
                "{label}: {left:.1} dB beside the input, gain {least:.2} to {most:.2} dB, {off:+.3} LU, unmatched {apart:.2} LU"
            );
            assert!(left < -50.0, "{label}: {left} dB");
            assert!(most - least < 1.0, "{label}: {least} to {most} dB");
            assert!(off.abs() < 0.3, "{label}: {off} LU");
            assert!(
                apart >= case.apart_lu,
                "{label}: a case that shows nothing: {apart} LU"
            );
            // Before it was pressed and after it was let go nothing is changed.
            for part in [0..pressed, released + 4_800..input[0].len()] {
                assert_eq!(cut(&with, part.clone()), cut(&without, part), "{label}");
            }
        }
    }
}

#[test]
fn where_nothing_is_done_it_is_the_input_bit_for_bit() {
    let input = drums(seconds(4.0));
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        let held = (seconds(1.0), seconds(3.0));
        let (with, _) = played(session, &[("mode", 0.0)], &input, held);
        let (without, _) = played(session, &[("mode", 0.0)], &input, (usize::MAX, usize::MAX));
        assert_eq!(with, without, "{format:?}");
    }
}

#[test]
fn pressing_and_letting_go_makes_no_click() {
    // The decks stand where they take away half of the tone; it is pressed before anything is known, and later.
    let settings: [Setting; 2] = [("offset", 0.3), ("output", 6.0)];
    for format in Format::BOTH {
        for hz in [97.0, 997.0, 5003.0] {
            for held in [
                (0, seconds(1.0)),
                (seconds(2.0), seconds(3.0)),
                (seconds(2.0), seconds(2.0) + 64),
            ] {
                let tone = |n: usize| (0.2 * (TAU * (hz / RATE * n as f64).fract()).sin()) as f32;
                let channel: Vec<f32> = (0..seconds(4.0)).map(tone).collect();
                let input = [channel.clone(), channel];
                let (out, _) = played(DecksSession::of(format), &settings, &input, held);
                let (without, _) = played(
                    DecksSession::of(format),
                    &settings,
                    &input,
                    (usize::MAX, usize::MAX),
                );
                // The input is twice its level behind the output, until more is known.
                let own = largest_step(&without[0][4_800..]).max(2.0 * largest_step(&input[0]));
                let worst = largest_step(&out[0][4_800..]) / own;
                println!("{format:?}, {hz} Hz, held {held:?}: {worst:.3}");
                assert!(worst <= 1.1, "{format:?}, {hz} Hz, held {held:?}: {worst}");
            }
        }
    }
}

#[test]
fn an_offline_render_knows_nothing_of_it() {
    let input = drums(seconds(2.0));
    for format in Format::BOTH {
        let session = DecksSession {
            render: Render::Offline,
            ..DecksSession::of(format)
        };
        let settings: [Setting; 2] = [("offset", 0.3), ("compare", 1.0)];
        let (with, _) = played(session, &settings, &input, (seconds(1.0), seconds(1.5)));
        let (without, _) = played(session, &settings[..1], &input, (usize::MAX, usize::MAX));
        assert_eq!(
            with,
            without,
            "{format:?}: {} dB",
            difference_db(&with[0], &without[0])
        );
    }
}
