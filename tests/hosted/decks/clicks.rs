//! Changes while the decks run: no click, no value that is not finite, and always a way back to the null point.

use super::instance::{DecksInstance, DecksSession, Format, Pair};
use plumbline_dsp::meters::click::largest_step;
use plumbline_hosting::{Song, Tempo};
use std::f64::consts::TAU;
use std::thread::sleep;
use std::time::Duration;

const RATE: f64 = 48_000.0;

/// A change, made in the middle of a tone.
#[derive(Clone, Copy)]
enum Change {
    /// Of controls, to these values.
    Set(&'static [(&'static str, f64)]),
    /// The transport goes on here, seconds and tempo.
    Jump(f64, f64),
    /// The transport stops.
    Stop,
}
use Change::{Jump, Set, Stop};

/// What is done to a cycle of ±4 ms in four bars.
const CHANGES: [(&str, Change); 30] = [
    ("engage off", Set(&[("engage", 0.0)])),
    ("flip", Set(&[("flip", 1.0)])),
    ("blend", Set(&[("blend", 100.0)])),
    ("width", Set(&[("width", -100.0)])),
    ("bypass", Set(&[("bypass", 1.0)])),
    ("output", Set(&[("output", -24.0)])),
    ("to hand", Set(&[("motion", 0.0)])),
    ("to pass", Set(&[("motion", 2.0)])),
    (
        "to a pass at once",
        Set(&[
            ("motion", 2.0),
            ("sync", 0.0),
            ("rate", 5.0),
            ("start", 1.0),
        ]),
    ),
    (
        "to a pass near its null point",
        Set(&[("motion", 2.0), ("length", 4.0), ("null_at", 1.5)]),
    ),
    (
        "to a pass that eases in",
        Set(&[("motion", 2.0), ("null_at", 1.75), ("ease", 1.0)]),
    ),
    (
        "to a pass that has gone out",
        Set(&[("motion", 2.0), ("null_at", 90.0), ("ease", 0.01)]),
    ),
    ("to drag", Set(&[("motion", 3.0)])),
    ("to drag, held", Set(&[("motion", 3.0), ("drag", -100.0)])),
    ("to drag, re-cued", Set(&[("motion", 3.0), ("recue", 1.0)])),
    ("triangle", Set(&[("curve", 1.0)])),
    ("reel", Set(&[("curve", 2.0)])),
    ("length", Set(&[("length", 5.0)])),
    ("free", Set(&[("sync", 0.0)])),
    ("rate", Set(&[("sync", 0.0), ("rate", 1.0)])),
    ("range to its least", Set(&[("range", 0.05)])),
    ("range to its most", Set(&[("range", 12.0)])),
    ("centre to one end", Set(&[("offset", 12.0)])),
    ("centre to the other", Set(&[("offset", -12.0)])),
    ("wow and flutter", Set(&[("wow", 0.5), ("flutter", 0.5)])),
    (
        "everything at once",
        Set(&[
            ("motion", 2.0),
            ("range", 12.0),
            ("offset", -9.0),
            ("flip", 1.0),
            ("width", 0.0),
        ]),
    ),
    ("a jump in the song", Jump(123.4, 120.0)),
    ("a jump back", Jump(0.01, 120.0)),
    ("another tempo", Jump(9.0, 90.0)),
    ("a stop", Stop),
];

fn song(seconds: f64, bpm: f64) -> Song {
    Song {
        seconds,
        tempo: Tempo::steady(bpm),
        beats_per_bar: 4,
    }
}

fn tone(hz: f64, count: usize) -> Pair {
    let sample = |n: usize| (TAU * (hz / RATE * n as f64).fract()).sin() as f32;
    let channel: Vec<f32> = (0..count).map(sample).collect();
    [channel.clone(), channel]
}

fn apply(decks: &mut DecksInstance, change: Change) {
    match change {
        Set(settings) => settings
            .iter()
            .for_each(|(id, value)| decks.set(id, *value)),
        Jump(seconds, bpm) => decks.play_from(Some(song(seconds, bpm))),
        Stop => decks.play_from(None),
    }
}

/// What a decks makes of a tone with a change in its middle; its first part only fills the lines.
fn changed(format: Format, hz: f64, change: Change) -> (Pair, Pair) {
    let (count, middle) = (48_000, 20_032);
    let settings = [("motion", 1.0), ("range", 4.0)];
    let mut decks = DecksInstance::open(DecksSession::of(format), &settings);
    decks.play_from(Some(song(0.7, 120.0)));
    let input = tone(hz, count);
    let out = decks.run_drawn(&input, &mut || 64, |decks, block| {
        if block.start == middle {
            apply(decks, change);
        }
    });
    (input, out)
}

#[test]
fn no_change_while_the_decks_run_makes_a_click() {
    // Largest step from sample to sample at most 1.1 times the tone's own.
    for format in Format::BOTH {
        for (name, change) in CHANGES {
            let mut worst = 0.0f64;
            for hz in [97.0, 997.0, 5003.0] {
                let (input, out) = changed(format, hz, change);
                for (input, out) in input.iter().zip(&out) {
                    assert!(out.iter().all(|x| x.is_finite()), "{format:?}, {name}");
                    let ratio = largest_step(&out[5_000..]) / largest_step(input);
                    worst = worst.max(ratio);
                    assert!(ratio <= 1.1, "{format:?}, {name}, {hz} Hz: {ratio}");
                }
            }
            println!("{format:?}, {name}: {worst:.3} times the tone's own");
        }
    }
}

#[test]
fn after_any_changes_the_decks_can_be_brought_back_to_one() {
    // Nothing stays stuck: by hand at the null point the output is the input again.
    for format in Format::BOTH {
        let mut decks = DecksInstance::open(DecksSession::of(format), &[]);
        let latency = decks.latency();
        let input = tone(997.0, 6_400);
        for (_, change) in CHANGES {
            apply(&mut decks, change);
            decks.run(&input, || 64);
            // No automation changes what a host compensates.
            assert_eq!(decks.latency(), latency, "{format:?}");
        }
        const HOME: &[(&str, f64)] = &[
            ("motion", 0.0),
            ("offset", 0.0),
            ("flip", 0.0),
            ("engage", 1.0),
            ("blend", 50.0),
            ("wow", 0.0),
            ("flutter", 0.0),
            ("bypass", 0.0),
            ("output", 0.0),
        ];
        apply(&mut decks, Set(HOME));
        // The farthest way at 5 % of speed, and the fades.
        decks.run(&tone(997.0, 48_000), || 64);
        let out = decks.run(&input, || 64);
        for (out, input) in out.iter().zip(&input) {
            assert!(out[latency..] == input[..6_400 - latency], "{format:?}");
        }
    }
}

/// Plays a tone through a change of mode and back, until the new latency has been told and a while longer.
fn through_a_change_of_mode(format: Format, hz: f64) -> (DecksInstance, Vec<f32>) {
    let settings = [("motion", 1.0), ("range", 4.0)];
    let mut decks = DecksInstance::open(DecksSession::of(format), &settings);
    let mut out = Vec::new();
    let mut played = 0;
    let mut play = |decks: &mut DecksInstance, seconds: f64| {
        let count = (seconds * RATE) as usize / 64 * 64;
        let sample = |n: usize| (TAU * (hz / RATE * (played + n) as f64).fract()).sin() as f32;
        let tone: Vec<f32> = (0..count).map(sample).collect();
        out.extend_from_slice(&decks.run(&[tone.clone(), tone], || 64)[0]);
        played += count;
    };
    for mode in [0.0, 1.0] {
        play(&mut decks, 0.2);
        let before = decks.latency();
        decks.set("mode", mode);
        // The new path is built beside the audio thread.
        for _ in 0..500 {
            play(&mut decks, 0.004);
            if decks.latency() != before {
                break;
            }
            sleep(Duration::from_millis(4));
        }
        assert_ne!(decks.latency(), before, "{format:?}");
        play(&mut decks, 0.3);
    }
    (decks, out)
}

#[test]
fn a_change_of_mode_under_a_host_that_does_not_restart_makes_no_click() {
    for hz in [97.0, 997.0] {
        let (mut decks, out) = through_a_change_of_mode(Format::Vst3, hz);
        let own = TAU * hz / RATE;
        let ratio = largest_step(&out[5_000..]) / own;
        println!("Vst3, mode, {hz} Hz: {ratio:.3} times the tone's own");
        assert!(ratio <= 1.1, "{hz} Hz: {ratio}");
        assert!(
            largest_step(&out[out.len() - 4_800..]) > 0.1 * own,
            "silent"
        );
        assert_eq!(decks.latency(), 640);
    }
}

#[test]
fn a_restart_for_another_mode_begins_with_what_goes_in_and_nothing_else() {
    // The host stops the audio; what goes in then begins in the middle of a wave.
    let input = tone(97.0, 24_000).map(|channel| channel[1_111..].to_vec());
    let own = largest_step(&[&[0.0], &input[0][..]].concat());
    let mut decks = DecksInstance::open(DecksSession::of(Format::Clap), &[("motion", 1.0)]);
    decks.run(&input, || 64);
    for (mode, latency) in [(0.0, 32), (1.0, 640)] {
        decks.set("mode", mode);
        decks.restart();
        assert_eq!(decks.latency(), latency);
        let out = decks.run(&input, || 64);
        let ratio = largest_step(&out[0]) / own;
        assert!(ratio <= 1.1, "mode {mode}: {ratio}");
        assert!(out[0][..latency - 32].iter().all(|x| *x == 0.0));
    }
}
