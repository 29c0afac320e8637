//! Real multi-microphone strokes: the gaps of independent pickers, polarity, known fractions.
//!
//! Gaps and tolerances: consensus of twelve first-arrival pickers on the strokes, second minus first, samples at 44.1 kHz.

use std::path::Path;

use plumbline_dsp::measurement::Polarity;
use plumbline_hosting::{Bundle, delayed};
use xtask::alignment::SpotMeasurement;

use super::recordings::{folder, names, read};
use super::session::{RATE, Session, gap, load_plugin, samples};

/// Sets up to this tolerance, samples, are held to the spot's table as well.
const TIGHT: f64 = 2.0;
/// How far the spot may be from its table, samples.
const SPOT_TOLERANCE: f64 = 3.0;
/// From this tolerance on a set counts as wide, samples.
const WIDE: f64 = 5.0;
/// Seconds from stroke to stroke.
const APART_S: f64 = 0.8;

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
    snare("snare A", "14a_rimshot", -1.3, 1.0, [77.0, 75.7]),
    snare("snare B", "14s_basic", -1.1, 1.5, [77.1, 77.1]),
    snare("snare C", "16_basic", 3.4, 2.0, [139.8, 142.7]),
    snare("snare D", "20m_basic", -0.5, 2.0, [72.4, 72.7]),
    snare("snare E", "22_spring", 32.7, 5.0, [109.8, 137.0]),
    snare("snare F", "13b_rimshot", -8.0, 5.0, [115.0, 106.6]),
    snare("snare G", "20_prep", 8.0, 6.0, [105.0, 113.6]),
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

/// A neutral label, and the folder that the recordings keep it in.
const fn snare(
    name: &'static str,
    folder: &'static str,
    gap: f64,
    tolerance: f64,
    spot_to: [f64; 2],
) -> Set {
    Set {
        name,
        source: Source::Snare(folder),
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

impl Source {
    /// First, second and spot of every stroke.
    fn strokes(&self, folder: &Path) -> Vec<[Vec<f32>; 3]> {
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
                let folder = drum.join("oh");
                // Two of the sets hold side sticks beside strokes on the head: another drum.
                let on_the_head = names(&folder, "sn");
                let strokes = match on_the_head.is_empty() {
                    true => names(&folder, ""),
                    false => on_the_head,
                };
                strokes.iter().map(stroke).collect()
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

/// The strokes of a set one after the other on a low floor of noise.
fn session(set: &Set, folder: &Path) -> Session {
    let strokes = set.source.strokes(folder);
    let frames = ((strokes.len() as f64 + 1.0) * APART_S * f64::from(RATE)) as usize;
    let mut session = Session::silent(frames, 11);
    for (n, stroke) in strokes.iter().enumerate() {
        let start = ((n as f64 + 0.4) * APART_S * f64::from(RATE)) as usize;
        session.add(start, stroke, 1.0);
    }
    session
}

/// Runs `check` on every set's session; each returns what is wrong.
fn for_each_set(check: impl FnMut(&Bundle, &Set, Session) -> Vec<String>) {
    for_each_of(&SETS, check);
}

fn for_each_of(sets: &[Set], mut check: impl FnMut(&Bundle, &Set, Session) -> Vec<String>) {
    let Some(folder) = folder() else { return };
    let bundle = load_plugin();
    let mut wrong = Vec::new();
    for set in sets {
        let faults = check(&bundle, set, session(set, &folder));
        wrong.extend(faults.iter().map(|fault| format!("{}: {fault}", set.name)));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Gap and spot against the table.
fn faults(set: &Set, measurement: &SpotMeasurement) -> Vec<String> {
    let gap = gap(measurement);
    let spots = [measurement.spot_to_first, measurement.spot_to_second]
        .map(|lag| samples(lag.expect("a spot lag").attack_s));
    println!(
        "{:12} gap {gap:7.2} (table {:5.1} +- {:.1})  spread {:5.2}  spot {:6.1} {:6.1} (table {:?})",
        set.name,
        set.gap,
        set.tolerance,
        spread(measurement),
        spots[0],
        spots[1],
        set.spot_to
    );
    let mut faults = Vec::new();
    if (gap - set.gap).abs() > set.tolerance {
        faults.push(format!(
            "gap {gap:.2}, table {} +- {}",
            set.gap, set.tolerance
        ));
    }
    let mut spots_and_table = spots.iter().zip(set.spot_to);
    let far = |(spot, table): (&f64, f64)| (spot - table).abs() > SPOT_TOLERANCE;
    if set.tolerance <= TIGHT && spots_and_table.any(far) {
        faults.push(format!("spot {spots:.1?}, table {:?}", set.spot_to));
    }
    faults
}

fn spread(measurement: &SpotMeasurement) -> f64 {
    samples(measurement.gap.expect("a gap").spread_s)
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

#[test]
fn every_set_within_its_tolerance() {
    let mut spreads = [Vec::new(), Vec::new()];
    for_each_set(|bundle, set, session| {
        let measurement = session.measured(bundle);
        spreads[usize::from(set.tolerance >= WIDE)].push(spread(&measurement));
        faults(set, &measurement)
    });
    if spreads[0].is_empty() {
        return;
    }
    let [tight, wide] = spreads.map(median);
    println!("median spread: {tight:.2} on the tight sets, {wide:.2} on the wide ones");
    assert!(
        wide > tight,
        "a smeared drum must say so: {wide:.2} against {tight:.2}"
    );
}

#[test]
fn a_reversed_channel_turns_the_verdict_every_time() {
    for_each_set(|bundle, set, mut session| {
        let polarity = |session: &Session| session.measured(bundle).gap.expect("a gap").polarity;
        let as_recorded = polarity(&session);
        session
            .second
            .iter_mut()
            .for_each(|sample| *sample = -*sample);
        let reversed = polarity(&session);
        let answer = format!("{as_recorded:?}, reversed {reversed:?}");
        println!("{:12} {answer}", set.name);
        match [as_recorded, reversed] {
            [Polarity::Same, Polarity::Inverted] => Vec::new(),
            // Three strokes or four of a front that is smeared over half a millisecond do not tell it.
            [Polarity::Undecided, Polarity::Undecided] if set.tolerance >= WIDE => Vec::new(),
            _ => vec![answer],
        }
    });
}

#[test]
fn a_known_fraction_moves_the_gap_by_that_fraction() {
    for_each_set(|bundle, set, mut session| {
        let start = gap(&session.measured(bundle));
        let second = session.second.clone();
        let mut faults = Vec::new();
        for by in [0.25, 0.5, 1.37] {
            session.second = delayed(&second, by);
            let error = gap(&session.measured(bundle)) - start - by;
            println!("{:12} {by:+.2} samples: error {error:+.4}", set.name);
            let limit = if set.tolerance >= WIDE { 0.05 } else { 0.02 };
            if error.abs() > limit {
                faults.push(format!("{by} samples, error {error:+.4}"));
            }
        }
        faults
    });
}

#[test]
fn the_spot_may_be_shifted_or_quieter() {
    for_each_of(&SETS[..2], |bundle, set, mut session| {
        let start = gap(&session.measured(bundle));
        let spot = session.spot.clone();
        let shift = (0.005 * f64::from(RATE)).round() as usize;
        let later = [&spot[spot.len() - shift..], &spot[..spot.len() - shift]].concat();
        let earlier = [&spot[shift..], &spot[..shift]].concat();
        let quieter = spot.iter().map(|sample| 0.1 * sample).collect();
        let mut faults = Vec::new();
        for (name, spot) in [
            ("5 ms later", later),
            ("5 ms earlier", earlier),
            ("20 dB quieter", quieter),
        ] {
            session.spot = spot;
            let change = gap(&session.measured(bundle)) - start;
            let line = format!("spot {name}: gap changes by {change:+.4} samples");
            println!("{:12} {line}", set.name);
            // The spot helps to align the strokes on each other: less than a tenth of the spread.
            if change.abs() > 0.025 {
                faults.push(line);
            }
        }
        faults
    });
}
