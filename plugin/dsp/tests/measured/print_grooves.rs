//! What the print does to real drums: loudness, peak and crest of a groove, attack and body of single strokes.

use plumbline_dsp::meters::loudness::loudness_lkfs;
use plumbline_dsp::print::level_histogram::LevelHistogram;
use plumbline_dsp::print::settings::PrintSettings;
use plumbline_dsp::print::{Print, PrintSetup, latency};

use crate::grooves::Kit;
use crate::recordings::{RATE, folder, kit};
use crate::support::{db, write_csv};

const LEVELS_DB: [f64; 4] = [-6.0, 0.0, 6.0, 12.0];
/// Peak of every take before the print, dBFS.
const PEAK_DBFS: f64 = -6.0;

fn printed(pair: [&[f32]; 2], settings: &PrintSettings) -> [Vec<f32>; 2] {
    let mut print = Print::new(PrintSetup {
        sample_rate: RATE,
        channels: 2,
    });
    let late = latency(RATE);
    let mut out = pair.map(|channel| {
        let mut channel = channel.to_vec();
        channel.resize(channel.len() + late, 0.0);
        channel
    });
    let [first, second] = &mut out;
    print.process(&mut [first, second], 0.0, settings);
    out.map(|mut channel| channel.split_off(late))
}

fn peak(audio: &[f32]) -> f64 {
    audio
        .iter()
        .fold(0.0, |peak, x| f64::from(x.abs()).max(peak))
}

fn rms(audio: &[f32]) -> f64 {
    let power: f64 = audio.iter().map(|x| f64::from(*x).powi(2)).sum();
    (power / audio.len().max(1) as f64).sqrt()
}

fn scaled(audio: &[f32], gain: f64) -> Vec<f32> {
    audio
        .iter()
        .map(|x| (f64::from(*x) * gain) as f32)
        .collect()
}

fn at(level_db: f64) -> PrintSettings {
    PrintSettings {
        level_db,
        ..PrintSettings::default()
    }
}

/// Loudness in LKFS, peak in dBFS, crest (peak over rms of the louder channel) in dB.
fn figures(pair: [&[f32]; 2]) -> [f64; 3] {
    let loudness = loudness_lkfs(&pair, RATE).expect("a groove is loud");
    let loud = if peak(pair[0]) > peak(pair[1]) {
        pair[0]
    } else {
        pair[1]
    };
    [loudness, db(peak(loud)), db(peak(loud) / rms(loud))]
}

#[test]
fn a_groove_keeps_its_loudness_and_loses_its_peaks() {
    let Some(folder) = folder() else { return };
    let mut rows = Vec::new();
    println!(
        "pair, level to tape: loudness LKFS, peak dBFS, crest dB; take above 0.3, 1, 3 % third harmonic"
    );
    for (pair, microphones) in [
        ("oh, side", ["oh_mic", "side_mic", "snare_mic"]),
        ("front, wndw", ["front_mic", "wndw_mic", "snare_mic"]),
    ] {
        let groove = Kit::read(&folder, microphones).groove(8, 1);
        let [first, second, _] = groove.channels;
        let gain = 10f64.powf(PEAK_DBFS / 20.0) / peak(&first).max(peak(&second));
        let (first, second) = (scaled(&first, gain), scaled(&second, gain));
        let before = figures([&first, &second]);
        println!("{pair:12} before {before:8.2?}");
        let levels = LevelHistogram::of(&first, RATE);
        let mut last_crest = before[2];
        for level_db in LEVELS_DB {
            let [one, two] = printed([&first, &second], &at(level_db));
            let after = figures([&one, &two]);
            let shares = levels.shares(&at(level_db)).map(|share| 100.0 * share);
            println!("{pair:12} {level_db:+4.0} dB {after:8.2?}; {shares:6.2?} %");
            rows.push([&[level_db][..], &before, &after, &shares].concat());
            assert!(after[2] < last_crest, "{pair}, {level_db}: the crest grows");
            assert!(
                after[0] > before[0] - 6.0,
                "{pair}, {level_db}: the body is lost"
            );
            last_crest = after[2];
        }
    }
    write_csv(
        "print_grooves",
        "level_db,loudness_before,peak_before,crest_before,loudness,peak,crest,above_03,above_1,above_3",
        &rows,
    );
}

/// Peak of the stroke, and rms from 30 to 130 ms after it.
fn attack_and_body(audio: &[f32], at: usize) -> [f64; 2] {
    let ms = |ms: f64| (ms * RATE / 1000.0) as usize;
    let start = at.saturating_sub(ms(5.0));
    let attack = peak(&audio[start..(at + ms(5.0)).min(audio.len())]);
    let body = rms(&audio[(at + ms(30.0)).min(audio.len())..(at + ms(130.0)).min(audio.len())]);
    [db(attack), db(body)]
}

#[test]
fn the_attack_rounds_before_the_body() {
    let Some(folder) = folder() else { return };
    println!(
        "drum, level to tape: change of the attack's peak and of the body (30 to 130 ms), dB, mean of all strokes"
    );
    for (drum, name) in [
        ("snare", "sc"),
        ("kick", "ks"),
        ("low tom", "tl"),
        ("hat", "ht"),
    ] {
        let strokes = kit(&folder, name, ["oh_mic", "side_mic", "snare_mic"]);
        for level_db in LEVELS_DB {
            let mut changes = [0.0; 2];
            for stroke in &strokes {
                let [first, second, _] = &stroke.channels;
                let gain = 10f64.powf(PEAK_DBFS / 20.0) / peak(first).max(peak(second));
                let pair = [first, second].map(|channel| {
                    let silence = vec![0.0; 1000];
                    [silence, scaled(channel, gain), vec![0.0; 8000]].concat()
                });
                let loudest = (0..pair[0].len())
                    .max_by(|a, b| pair[0][*a].abs().total_cmp(&pair[0][*b].abs()));
                let place = loudest.expect("a stroke");
                let [after, _] = printed([&pair[0], &pair[1]], &at(level_db));
                let (before, after) = (
                    attack_and_body(&pair[0], place),
                    attack_and_body(&after, place),
                );
                for (change, (after, before)) in changes.iter_mut().zip(after.iter().zip(before)) {
                    *change += (after - before) / strokes.len() as f64;
                }
            }
            let [attack, body] = changes;
            println!("{drum:8} {level_db:+4.0} dB: attack {attack:+6.2}, body {body:+6.2}");
            if level_db >= 0.0 {
                assert!(
                    attack < body,
                    "{drum} at {level_db} dB: {attack} against {body}"
                );
            }
        }
    }
}
