//! Sessions put together from real multi-microphone strokes: the gaps of independent pickers, polarity, known fractions.
//!
//! Gaps and tolerances: consensus of twelve first-arrival pickers on the strokes, second minus first, samples at 44.1 kHz.

use std::path::{Path, PathBuf};

use plumbline_dsp::measurement::Polarity;
use plumbline_dsp::plan::{Anchor, Match};
use plumbline_hosting::Bundle;
use realfft::RealFftPlanner;
use realfft::num_complex::Complex;
use xtask::audio_reader::AudioReader;
use xtask::bundle::built_clap;
use xtask::found::Found;
use xtask::measure::{Range, Settings, measure};
use xtask::take::{Overheads, TakeFiles};

use crate::support::{Folder, Signal};

pub const RATE: u32 = 44_100;
/// Seconds from stroke to stroke.
const APART_S: f64 = 0.8;
/// Noise under the strokes, full scale one: -100 dB.
pub const FLOOR: f32 = 1e-5;

/// Pair and spot of a session.
pub struct Session {
    pub first: Signal,
    pub second: Signal,
    pub spot: Signal,
}

/// A set of strokes and what the table says about it.
struct Set {
    name: &'static str,
    source: Source,
    gap: f64,
    tolerance: f64,
    spot_to: [f64; 2],
}

enum Source {
    /// A snare with a stereo file of overheads and a microphone above the head.
    Snare(&'static str),
    /// Strokes of the kit that begin so, in first, second and spot.
    Kit(&'static str, [&'static str; 3]),
}

const SETS: [Set; 10] = [
    snare("14a_rimshot", -1.3, 1.0, [77.0, 75.7]),
    snare("14s_basic", -1.1, 1.5, [77.1, 77.1]),
    snare("16_basic", 3.4, 2.0, [139.8, 142.7]),
    snare("20m_basic", -0.5, 2.0, [72.4, 72.7]),
    snare("22_spring", 32.7, 5.0, [109.8, 137.0]),
    snare("13b_rimshot", -8.0, 5.0, [115.0, 106.6]),
    snare("20_prep", 8.0, 6.0, [105.0, 113.6]),
    kit(
        "sc",
        ["oh_mic", "side_mic", "snare_mic"],
        1.0,
        1.0,
        [85.8, 86.9],
    ),
    kit(
        "sc",
        ["front_mic", "wndw_mic", "snare_mic"],
        -1.2,
        0.5,
        [239.9, 238.8],
    ),
    kit(
        "ks",
        ["oh_mic", "side_mic", "kick_mic"],
        -32.6,
        5.0,
        [78.5, 43.0],
    ),
];

const fn snare(name: &'static str, gap: f64, tolerance: f64, spot_to: [f64; 2]) -> Set {
    Set {
        name,
        source: Source::Snare(name),
        gap,
        tolerance,
        spot_to,
    }
}

const fn kit(
    drum: &'static str,
    microphones: [&'static str; 3],
    gap: f64,
    tolerance: f64,
    spot_to: [f64; 2],
) -> Set {
    Set {
        name: microphones[0],
        source: Source::Kit(drum, microphones),
        gap,
        tolerance,
        spot_to,
    }
}

/// Where the recordings are; says so when they are not.
pub fn folder() -> Option<PathBuf> {
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/recordings");
    let folder = std::env::var_os("PLUMBLINE_RECORDINGS").map_or(beside, PathBuf::from);
    let there = folder.join("snares").is_dir();
    if !there {
        println!("skipped: no recordings");
    }
    there.then_some(folder)
}

/// A file's channels.
pub fn read(path: &Path) -> Vec<Signal> {
    let mut reader =
        AudioReader::open(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let frames = reader.frames().expect("a length") as usize;
    let mut channels = vec![vec![0.0; frames]; reader.channels()];
    let mut slices: Vec<&mut [f32]> = channels.iter_mut().map(Vec::as_mut_slice).collect();
    assert_eq!(
        reader
            .read(&mut slices)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display())),
        frames
    );
    channels
}

/// File names in a folder that begin so, sorted.
pub fn names(folder: &Path, begin: &str) -> Vec<String> {
    let entries =
        std::fs::read_dir(folder).unwrap_or_else(|error| panic!("{}: {error}", folder.display()));
    let mut names: Vec<String> = entries
        .map(|entry| {
            entry
                .expect("an entry")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .filter(|name| name.starts_with(begin))
        .collect();
    names.sort();
    names
}

impl Source {
    /// First, second and spot of every stroke.
    fn strokes(&self, folder: &Path) -> Vec<[Signal; 3]> {
        match self {
            Source::Snare(drum) => {
                let drum = folder.join("snares").join(drum);
                let stroke = |name: &String| {
                    let [first, second] = read(&drum.join("oh").join(name))
                        .try_into()
                        .expect("two overheads");
                    [
                        first,
                        second,
                        read(&drum.join("top").join(name)).swap_remove(0),
                    ]
                };
                names(&drum.join("oh"), "").iter().map(stroke).collect()
            }
            Source::Kit(drum, microphones) => {
                let kit = folder.join("kit");
                let stroke = |name: &String| {
                    microphones.map(|mic| read(&kit.join(mic).join(name)).swap_remove(0))
                };
                names(&kit.join(microphones[0]), drum)
                    .iter()
                    .map(stroke)
                    .collect()
            }
        }
    }
}

impl Session {
    /// The strokes one after the other on a low floor of noise.
    fn of(set: &Set, folder: &Path) -> Self {
        let mut random = fastrand::Rng::with_seed(11);
        let strokes = set.source.strokes(folder);
        let frames = ((strokes.len() as f64 + 1.0) * APART_S * f64::from(RATE)) as usize;
        let mut channels = [(); 3].map(|()| {
            (0..frames)
                .map(|_| FLOOR * (2.0 * random.f32() - 1.0))
                .collect::<Signal>()
        });
        for (n, stroke) in strokes.iter().enumerate() {
            let start = ((n as f64 + 0.4) * APART_S * f64::from(RATE)) as usize;
            for (channel, samples) in channels.iter_mut().zip(stroke) {
                channel[start..]
                    .iter_mut()
                    .zip(samples)
                    .for_each(|(sum, sample)| *sum += sample);
            }
        }
        let [first, second, spot] = channels;
        Self {
            first,
            second,
            spot,
        }
    }

    /// What the plugin says about files of the session.
    pub fn measured(&self, bundle: &Bundle) -> Found {
        let folder = Folder::new();
        let files = TakeFiles {
            overheads: Overheads::Together(folder.wav(
                "pair.wav",
                RATE,
                &[&self.first, &self.second],
            )),
            spots: vec![folder.wav("spot.wav", RATE, &[&self.spot])],
        };
        let settings = Settings {
            anchor: Anchor::Later,
            target: Match::Attack,
            amount: 100.0,
            temperature_c: 20.0,
            reach_ms: None,
        };
        let mut measured = measure(bundle, &files, Range::ALL, &settings)
            .unwrap_or_else(|error| panic!("{error}"));
        measured.found.swap_remove(0)
    }
}

fn samples(seconds: f64) -> f64 {
    seconds * f64::from(RATE)
}

pub fn gap(found: &Found) -> f64 {
    samples(found.gap.expect("a gap").attack_s)
}

/// Delays by any part of a sample: a phase slope, exact for what the recording's band holds.
fn delayed(signal: &[f32], by: f64) -> Signal {
    let size = (signal.len() + 64).next_power_of_two();
    let mut planner = RealFftPlanner::<f64>::new();
    let mut padded: Vec<f64> = signal.iter().map(|sample| f64::from(*sample)).collect();
    padded.resize(size, 0.0);
    let mut spectrum = vec![Complex::default(); size / 2 + 1];
    planner
        .plan_fft_forward(size)
        .process(&mut padded, &mut spectrum)
        .expect("a transform");
    for (bin, value) in spectrum.iter_mut().enumerate() {
        *value *= Complex::from_polar(
            1.0 / size as f64,
            -std::f64::consts::TAU * bin as f64 / size as f64 * by,
        );
    }
    spectrum[size / 2] = Complex::new(spectrum[size / 2].re, 0.0);
    planner
        .plan_fft_inverse(size)
        .process(&mut spectrum, &mut padded)
        .expect("a transform");
    padded[..signal.len()]
        .iter()
        .map(|sample| *sample as f32)
        .collect()
}

pub fn bundle() -> Bundle {
    Bundle::load(built_clap().unwrap_or_else(|error| panic!("{error}")))
        .expect("the built CLAP loads")
}

#[test]
fn every_set_within_its_tolerance() {
    let Some(folder) = folder() else { return };
    let bundle = bundle();
    let mut wrong = Vec::new();
    let mut spreads = [Vec::new(), Vec::new()];
    for set in &SETS {
        let found = Session::of(set, &folder).measured(&bundle);
        let lag = found.gap.expect("a gap");
        let spread = samples(lag.spread_s);
        let spots = [found.spot_to_first, found.spot_to_second]
            .map(|lag| samples(lag.expect("a spot lag").attack_s));
        println!(
            "{:12} gap {:7.2} (table {:5.1} +- {:.1})  spread {spread:5.2}  spot {:6.1} {:6.1} (table {:?})",
            set.name,
            gap(&found),
            set.gap,
            set.tolerance,
            spots[0],
            spots[1],
            set.spot_to
        );
        spreads[usize::from(set.tolerance >= 5.0)].push(spread);
        if (gap(&found) - set.gap).abs() > set.tolerance {
            wrong.push(format!(
                "{}: gap {:.2}, table {} +- {}",
                set.name,
                gap(&found),
                set.gap,
                set.tolerance
            ));
        }
        if set.tolerance <= 2.0
            && spots
                .iter()
                .zip(set.spot_to)
                .any(|(spot, table)| (spot - table).abs() > 3.0)
        {
            wrong.push(format!(
                "{}: spot {spots:.1?}, table {:?}",
                set.name, set.spot_to
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let [tight, wide] = spreads.map(|mut spreads| {
        spreads.sort_by(f64::total_cmp);
        spreads[spreads.len() / 2]
    });
    println!("median spread: {tight:.2} on the tight sets, {wide:.2} on the wide ones");
    assert!(
        wide > 2.0 * tight,
        "a smeared drum must say so: {wide:.2} against {tight:.2}"
    );
}

#[test]
fn a_reversed_channel_turns_the_verdict_every_time() {
    let Some(folder) = folder() else { return };
    let bundle = bundle();
    let mut wrong = Vec::new();
    for set in &SETS {
        let mut session = Session::of(set, &folder);
        let as_recorded = session.measured(&bundle).gap.expect("a gap").polarity;
        session
            .second
            .iter_mut()
            .for_each(|sample| *sample = -*sample);
        let reversed = session.measured(&bundle).gap.expect("a gap").polarity;
        println!("{:12} {as_recorded:?}, reversed {reversed:?}", set.name);
        if [as_recorded, reversed] != [Polarity::Same, Polarity::Inverted] {
            wrong.push(format!(
                "{}: {as_recorded:?}, reversed {reversed:?}",
                set.name
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_known_fraction_moves_the_gap_by_that_fraction() {
    let Some(folder) = folder() else { return };
    let bundle = bundle();
    let mut wrong = Vec::new();
    for set in &SETS {
        let mut session = Session::of(set, &folder);
        let start = gap(&session.measured(&bundle));
        let second = session.second.clone();
        for by in [0.25, 0.5, 1.37] {
            session.second = delayed(&second, by);
            let error = gap(&session.measured(&bundle)) - start - by;
            println!("{:12} {by:+.2} samples: error {error:+.4}", set.name);
            if error.abs() > 0.02 {
                wrong.push(format!("{}: {by} samples, error {error:+.4}", set.name));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_spot_may_be_shifted_or_quieter() {
    let Some(folder) = folder() else { return };
    let bundle = bundle();
    for set in &SETS[..2] {
        let mut session = Session::of(set, &folder);
        let start = gap(&session.measured(&bundle));
        let spot = session.spot.clone();
        let shift = (0.005 * f64::from(RATE)).round() as usize;
        let later = [&spot[spot.len() - shift..], &spot[..spot.len() - shift]].concat();
        let earlier = [&spot[shift..], &spot[..shift]].concat();
        let quieter: Signal = spot.iter().map(|sample| 0.1 * sample).collect();
        for (name, spot) in [
            ("5 ms later", later),
            ("5 ms earlier", earlier),
            ("20 dB quieter", quieter),
        ] {
            session.spot = spot;
            let change = gap(&session.measured(&bundle)) - start;
            println!(
                "{:12} spot {name}: gap changes by {change:+.4} samples",
                set.name
            );
            assert!(
                change.abs() <= 0.01,
                "{}: spot {name} changes the gap by {change:+.4}",
                set.name
            );
        }
    }
}
