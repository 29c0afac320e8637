//! The offset as a function of the song's position: bounces that are the same, null points on the bar line.

use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::wobble::WobbleAmounts;

use super::{BPM, RATE, Rig, cycle, still};
use crate::noise::Noise;
use crate::support::{assert_below, assert_near, db, sine};

/// How a scene's settings change.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Drawn {
    /// They stay.
    Constant,
    /// A point every 64 samples of the song; no block crosses one, as the shell splits them there.
    Points,
}

/// Name, how it is drawn, settings at a sample of the song.
type Scene = (&'static str, Drawn, fn(usize) -> CourseSettings);

const SCENES: [Scene; 6] = [
    ("hand", Drawn::Points, |n| {
        still(0.002 * (n as f64 / 64_000.0).sin())
    }),
    ("cycle", Drawn::Constant, |_| {
        cycle(Curve::Sine, 0.012, Pace::Beats(4.0))
    }),
    ("cycle of drawn range", Drawn::Points, |n| {
        let range_s = 0.003 + 0.001 * (n as f64 / 100_000.0).cos();
        cycle(Curve::Reel, range_s, Pace::Beats(4.0))
    }),
    ("free cycle", Drawn::Constant, |_| {
        cycle(Curve::Triangle, 0.002, Pace::Hertz(0.37))
    }),
    ("pass", Drawn::Points, |n| CourseSettings {
        motion: Motion::Pass,
        start: (BAR * 4 + 6400..BAR * 4 + 12_800).contains(&n),
        ..cycle(Curve::Sine, 0.003, Pace::Beats(6.0))
    }),
    ("wow and flutter", Drawn::Constant, |_| CourseSettings {
        wobble: WobbleAmounts {
            wow: 0.0005,
            flutter: 0.0005,
        },
        ..CourseSettings::default()
    }),
];

/// Samples in a bar of 4/4 at 108 bpm and 48 kHz, a multiple of 64 nearby: where renders start.
const BAR: usize = 106_624;

/// Blocks of one length, or of random ones from 1 to 512.
#[derive(Clone, Copy, Debug)]
enum Split {
    Even(usize),
    Random,
}

fn render((_, drawn, settings): Scene, from: usize, to: usize, split: Split) -> Vec<f32> {
    let mut rig = Rig::new(RATE, from);
    let mut random = Noise::new(17);
    let mut audio = sine(440.0, RATE, to).split_off(from);
    let mut at = 0;
    while at < audio.len() {
        let wanted = match split {
            Split::Random => 1 + (random.signed().abs() * 512.0) as usize,
            Split::Even(length) => length,
        };
        let length = match drawn {
            Drawn::Points => wanted.min(64 - (from + at) % 64),
            Drawn::Constant => wanted,
        };
        let end = audio.len().min(at + length);
        let settings = settings((from + at) / 64 * 64);
        rig.block(&mut audio[at..end], &settings, &MixSettings::default());
        at = end;
    }
    audio
}

#[test]
fn every_bounce_is_the_same() {
    for scene in SCENES {
        let name = scene.0;
        let end = BAR * 6;
        let whole = render(scene, 0, end, Split::Even(64));
        for split in [
            Split::Even(1),
            Split::Even(480),
            Split::Even(1024),
            Split::Random,
        ] {
            let worst = difference(&whole, &render(scene, 0, end, split));
            println!("{name}, {split:?}: {worst:.1} dB");
            assert_below(&format!("{name}, {split:?}, dB"), worst, -140.0);
        }
        let from_bar_five = render(scene, BAR * 4, end, Split::Even(64));
        // What came before bar five is missing in the lines and between the automated points.
        let settled = 2400;
        let worst = difference(&whole[BAR * 4 + settled..], &from_bar_five[settled..]);
        println!("{name}, from bar 5 against from bar 1: {worst:.1} dB");
        assert_below(&format!("{name}, from bar five, dB"), worst, -140.0);
    }
}

fn difference(a: &[f32], b: &[f32]) -> f64 {
    let differences = a.iter().zip(b).map(|(a, b)| f64::from((a - b).abs()));
    db(differences.fold(0.0, f64::max))
}

#[test]
fn other_rates_have_the_same_offset_at_the_same_place_in_the_song() {
    let place_s = 3.0;
    let offset = |rate: f64, scene: Scene| {
        let mut rig = Rig::new(rate, 0);
        let count = (place_s * rate) as usize + rig.sweep.latency() + 1;
        let mut audio = vec![0.0; count];
        for block in audio.chunks_mut(1) {
            let settings = scene.2((rig.at as f64 * RATE / rate) as usize);
            rig.block(block, &settings, &MixSettings::default());
        }
        *rig.offsets.last().expect("blocks")
    };
    for scene in SCENES {
        let name = scene.0;
        let want = offset(RATE, scene);
        for rate in [44_100.0, 96_000.0, 192_000.0] {
            let case = format!("{name} at {rate} Hz, µs");
            assert_near(&case, offset(rate, scene) * 1e6, want * 1e6, 1.0);
        }
    }
}

/// Song samples at which the audio heard crosses the null point.
fn crossings(settings: impl Fn(usize) -> CourseSettings, from: usize, count: usize) -> Vec<f64> {
    let mut rig = Rig::new(RATE, from);
    let mut audio = vec![0.0; count];
    for block in audio.chunks_mut(1) {
        let settings = settings(rig.at);
        rig.block(block, &settings, &MixSettings::default());
    }
    let heard = from as f64 - rig.sweep.latency() as f64;
    let signs = rig.offsets.windows(2).enumerate().skip(rig.sweep.latency());
    signs
        .filter(|(_, w)| w[0] < 0.0 && w[1] >= 0.0)
        .map(|(n, w)| heard + n as f64 + w[0] / (w[0] - w[1]))
        .collect()
}

#[test]
fn the_null_point_lands_on_the_bar_line() {
    let bar = 4.0 * 60.0 / BPM * RATE;
    // A pass of two bars cued inside bar 3 begins on bar 4's line; its middle is the line of bar 5.
    let pass = |n: usize| CourseSettings {
        motion: Motion::Pass,
        start: n as f64 > 2.3 * bar,
        ..cycle(Curve::Reel, 0.003, Pace::Beats(8.0))
    };
    let crossed = crossings(pass, (2.0 * bar) as usize, (3.0 * bar) as usize);
    assert_eq!(crossed.len(), 1, "{crossed:?}");
    assert_near("pass, samples", crossed[0], 4.0 * bar, 1.0);
    // A cycle of four bars passes it upwards on every fourth bar line: also after an hour.
    for first_bar in [0.0, 1616.0] {
        let settings = cycle(Curve::Sine, 0.012, Pace::Beats(16.0));
        let from = ((first_bar + 3.9) * bar) as usize;
        let crossed = crossings(|_| settings, from, 20_000);
        assert_eq!(crossed.len(), 1, "{crossed:?}");
        assert_near("cycle, samples", crossed[0], (first_bar + 4.0) * bar, 0.01);
    }
}
