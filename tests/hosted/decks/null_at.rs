//! A pass through a place of the song: its null point from any start, and the comb that comes in and goes out.

use super::instance::{DecksInstance, DecksSession, Format, Pair, offsets_s, probe_tone};
use plumbline_dsp::meters::click::largest_step;
use plumbline_hosting::{Song, Tempo};
use std::f64::consts::TAU;

const RATE: f64 = 48_000.0;

/// From 200 to 280 in four seconds: steeper than music is.
const RAMP: Tempo = Tempo::ramp((200.0, 280.0), (1.0, 5.0));

/// A pass of two bars whose null point lies on this bar, in common time.
const NULL_BAR: f64 = 4.75;
const NULL_BEATS: f64 = 15.0;

/// Starts of playback, seconds before the null point: in the pass and before it, on no grid.
const STARTS_S: [f64; 10] = [
    4.311, 3.7, 3.003, 2.5, 1.97, 1.4107, 1.0, 0.6066, 0.31, 0.1003,
];

fn song(seconds: f64, tempo: Tempo) -> Song {
    Song {
        seconds,
        tempo,
        beats_per_bar: 4,
    }
}

/// Where the moving deck passes the fixed one, samples since the start.
fn crossing(offsets: &[f64]) -> Option<f64> {
    let mut pairs = offsets.windows(2).enumerate();
    let (n, pair) = pairs.find(|(_, pair)| pair[0] < 0.0 && pair[1] >= 0.0)?;
    Some(n as f64 + pair[0] / (pair[0] - pair[1]))
}

#[test]
fn the_null_point_is_on_its_beat_from_any_start() {
    let null_s = RAMP.seconds(NULL_BEATS);
    for format in Format::BOTH {
        // Around the null line, beside it, and free of the tempo: so many passes a second.
        for (name, more) in [
            ("in bars", &[("length", 5.0)][..]),
            (
                "beside the line",
                &[("length", 5.0), ("offset", 1.2), ("curve", 2.0)],
            ),
            (
                "in seconds",
                &[("sync", 0.0), ("rate", 0.5), ("curve", 1.0)],
            ),
        ] {
            let mut worst = 0.0f64;
            for (index, before_s) in STARTS_S.into_iter().enumerate() {
                let pass = [("motion", 2.0), ("null_at", NULL_BAR), ("blend", 100.0)];
                let settings = [&pass, more].concat();
                let mut decks = DecksInstance::open(DecksSession::of(format), &settings);
                decks.play_from(Some(song(null_s - before_s, RAMP)));
                let latency = decks.latency();
                let count = ((before_s + 0.1) * RATE) as usize + latency;
                let length = [64, 480, 512, 1024][index % 4];
                let out = decks.run(&probe_tone(RATE, count), || length);
                let offsets = offsets_s(&out, RATE, latency);
                let label = format!("{format:?}, {name}, {before_s} s before, blocks of {length}");
                // The first samples are read from an empty line.
                let settled = (0.03 * RATE) as usize;
                let at = crossing(&offsets[settled..]).unwrap_or_else(|| panic!("{label}: none"));
                let off = at + settled as f64 - before_s * RATE;
                println!("{label}: off by {off:.4} samples");
                assert!(off.abs() <= 1.0, "{label}: {off} samples");
                worst = worst.max(off.abs());
            }
            println!("{format:?}, {name}: worst of ten starts {worst:.4} samples");
        }
    }
}

/// A tone that the comb takes out where the pass begins: the offset is -3 ms, its third notch lies here.
const NOTCH_HZ: f64 = 2.5 / 0.003;

/// Level of a tone through a slow pass with the null point on bar 9, in windows of 10 ms, and its largest step.
fn levels(format: Format, ease_bars: f64, engaged_at_s: Option<f64>) -> (Vec<f64>, f64) {
    // A bar takes two seconds, the pass 16 bars, so that the notch stays about where it is.
    let mut decks = DecksInstance::open(
        DecksSession::of(format),
        &[
            ("motion", 2.0),
            ("length", 8.0),
            ("null_at", 9.0),
            ("ease", ease_bars),
            ("engage", if engaged_at_s.is_some() { 0.0 } else { 1.0 }),
        ],
    );
    decks.play_from(Some(song(0.0, Tempo::steady(120.0))));
    let tone = |n: usize| (TAU * (NOTCH_HZ / RATE * n as f64).fract()).sin() as f32;
    let channel: Vec<f32> = (0..(5.0 * RATE) as usize).map(tone).collect();
    let input: Pair = [channel.clone(), channel];
    let out = decks.run_drawn(&input, &mut || 64, |decks, block| {
        let begins = |at_s: f64| block.contains(&((at_s * RATE) as usize));
        if engaged_at_s.is_some_and(begins) {
            decks.set("engage", 1.0);
        }
    });
    let heard = &out[0][4800..];
    let windows = heard.chunks_exact(480);
    let rms = |window: &[f32]| {
        let power: f64 = window.iter().map(|x| f64::from(*x).powi(2)).sum();
        (2.0 * power / window.len() as f64).sqrt()
    };
    let step = largest_step(heard) / largest_step(&input[0]);
    (windows.map(rms).collect(), step)
}

/// The largest fall of the level within 40 ms: a cross-fade of 20 ms is over by then.
const FALL_S: f64 = 0.040;

fn largest_fall(levels: &[f64]) -> f64 {
    let falls = levels.windows(5).map(|five| five[0] - five[4]);
    falls.fold(0.0, f64::max)
}

#[test]
fn a_pass_that_eases_in_never_drops_into_the_comb() {
    for format in Format::BOTH {
        for engaged_at_s in [None, Some(1.0)] {
            let (hard, step) = levels(format, 0.0, Some(1.0));
            assert!(step <= 1.1, "{format:?}: {step}");
            assert!(
                largest_fall(&hard) > 0.9,
                "{format:?}: the comb is heard at once"
            );
            for ease_bars in [0.5, 1.0] {
                let (eased, step) = levels(format, ease_bars, engaged_at_s);
                let fall = largest_fall(&eased);
                let least = eased.iter().copied().fold(1.0, f64::min);
                let label = format!("{format:?}, {ease_bars} bars, engaged at {engaged_at_s:?}");
                println!(
                    "{label}: falls by {fall:.4} in 40 ms, down to {least:.4}, step {step:.4}"
                );
                // Twice the even fall over the whole length, for where pass and engagement come in together.
                assert!(fall <= 2.0 * FALL_S / (2.0 * ease_bars), "{label}: {fall}");
                // By then the offset has left the notch by a little.
                assert!(least < 0.4, "{label}: the comb comes in: {least}");
                assert!(step <= 1.1, "{label}: {step}");
            }
        }
    }
}
