//! Three microphones to two tracks: overheads and a kick through the command, on simulated rooms and on real strokes.

use std::collections::HashMap;
use std::path::PathBuf;

use plumbline_hosting::noise;

use super::align;
use super::recordings::{folder, names, read as recording};
use super::simulated_rooms::{ALL, FEW, Room};
use crate::command::{json, number};
use crate::files::Folder;

/// Snare and kick each together in pair and spot, samples.
const TOGETHER: f64 = 0.3;

#[test]
fn snare_and_kick_are_together_in_pair_and_spot() {
    assert_together(FEW);
}

#[test]
#[ignore = "whole table, 30 rooms: cargo xtask test --full"]
fn snare_and_kick_are_together_in_every_room() {
    assert_together(ALL);
}

fn assert_together(rooms: u64) {
    let mut wrong = Vec::new();
    for seed in 0..rooms {
        let room = Room::new(seed);
        let answer = room.printed(&[]).answer;
        let [first, second] =
            ["first_delay_samples", "second_delay_samples"].map(|key| number(&answer, key));
        let snare_off = room.snare_gap + second - first;
        let middle = 0.5 * (room.kick_ways[0] + first + room.kick_ways[1] + second);
        let kick_off = number(&answer, "spot_delay_samples") - middle;
        let close = &answer["spots"][0];
        let kick_file_off = close["delay_samples"].as_f64().unwrap() - middle;
        let line = format!(
            "room {seed}: aligned on the {}, snare {snare_off:+.3}, kick {kick_off:+.3}, its own file {kick_file_off:+.3} samples",
            answer["drum"].as_str().unwrap_or("?")
        );
        println!("{line}");
        let far = [snare_off, kick_off, kick_file_off]
            .iter()
            .any(|off| off.abs() > TOGETHER);
        if far {
            wrong.push(line);
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn the_answer_names_each_drum_once_with_what_its_mono_sum_loses() {
    let answer = Room::new(3).printed(&["--match", "kit"]).answer;
    let voices = answer["voices"].as_array().unwrap();
    let mut names: Vec<&str> = voices
        .iter()
        .map(|voice| voice["name"].as_str().unwrap())
        .collect();
    names.sort_unstable();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all, "{voices:#?}");
    for voice in voices {
        for key in ["mono_loss_before_db", "mono_loss_after_db"] {
            let loss = voice[key]
                .as_f64()
                .unwrap_or_else(|| panic!("{key} of {voice}"));
            assert!((-60.0..=0.0).contains(&loss), "{voice}");
        }
    }
    assert!(!answer["why"].as_str().unwrap().is_empty());
}

/// Each seed is another take of eight bars.
const SEEDS: u64 = 20;
const GROOVE_RATE: u32 = 44_100;
/// The table of the recordings: snare and kick in oh and side, and their tolerances, samples.
const SNARE: (f64, f64) = (1.0, 1.5);
const KICK: (f64, f64) = (-32.6, 5.0);
/// Of the seeds, so many at least within both.
const WITHIN: usize = 19;

/// Kick on 1 and 3, snare on 2 and 4 with a ghost note, eighth hats: sixteenth of the bar, beginning of the file names, level.
fn bar() -> Vec<(usize, &'static str, f32)> {
    let mut strokes = vec![
        (0, "ks_", 1.0),
        (8, "ks_", 1.0),
        (4, "sc_", 1.0),
        (12, "sc_", 1.0),
        (7, "sc_vl3", 0.4),
    ];
    strokes.extend((0..8).map(|eighth| (2 * eighth, "ht_", 0.5)));
    strokes
}

/// The microphones of the pair and of the kick, each file read once.
struct Kit {
    folder: PathBuf,
    files: HashMap<String, Vec<f32>>,
}

impl Kit {
    /// Eight bars at 120 beats a minute, struck three milliseconds early or late.
    fn groove(&mut self, seed: u64) -> [Vec<f32>; 3] {
        let mut random = fastrand::Rng::with_seed(900 + seed);
        let frames = 19 * GROOVE_RATE as usize;
        let floor = |channel| noise(frames, 3 * seed + channel);
        let mut channels =
            [0, 1, 2].map(|channel| floor(channel).iter().map(|x| 2e-5 * x).collect());
        for (bar, (sixteenth, begin, level)) in
            (0..8).flat_map(|n| bar().into_iter().map(move |stroke| (n, stroke)))
        {
            let names = names(&self.folder.join("oh_mic"), begin);
            let name = &names[random.usize(..names.len())];
            let late_s = 0.003 * ((0..12).map(|_| random.f64()).sum::<f64>() - 6.0);
            let at_s = 0.5 + (16 * bar + sixteenth) as f64 * 0.125 + late_s;
            let level = level * (0.9 + 0.2 * random.f32());
            self.add(
                &mut channels,
                (at_s * f64::from(GROOVE_RATE)) as usize,
                name,
                level,
            );
        }
        channels
    }

    fn add(&mut self, channels: &mut [Vec<f32>; 3], at: usize, name: &str, level: f32) {
        for (channel, microphone) in channels.iter_mut().zip(["oh_mic", "side_mic", "kick_mic"]) {
            let key = format!("{microphone}/{name}");
            let path = self.folder.join(&key);
            let sound = self.files.entry(key);
            let sound = sound.or_insert_with(|| recording(&path).swap_remove(0));
            let sums = channel[at..].iter_mut().zip(sound.iter());
            sums.for_each(|(out, x)| *out += level * x);
        }
    }
}

/// What the command says of the snare and of the kick, samples.
fn gaps(channels: &[Vec<f32>; 3]) -> [f64; 2] {
    let folder = Folder::new();
    let pair = folder.wav("pair.wav", GROOVE_RATE, &channels[..2]);
    let kick = folder.wav("kick.wav", GROOVE_RATE, &channels[2..]);
    let [pair, kick] = [&pair, &kick].map(|path| path.to_str().unwrap());
    let answer = json(&align(&[pair, "--kick", kick, "--json"]));
    let voices = answer["voices"].as_array().unwrap();
    let named = |name: &str| {
        let mut voices = voices.iter();
        let voice = voices.find(|voice| voice["name"].as_str().unwrap().starts_with(name));
        voice
            .and_then(|voice| voice["gap_samples"].as_f64())
            .unwrap_or(f64::NAN)
    };
    let drum = answer["drum"].as_str().unwrap();
    assert!(drum.starts_with("snare"), "{}", answer["why"]);
    [named("snare"), named("kick")]
}

#[test]
fn real_grooves_with_overheads_and_a_kick() {
    let Some(recordings) = folder() else {
        return;
    };
    let mut kit = Kit {
        folder: recordings.join("kit"),
        files: HashMap::new(),
    };
    let mut right = [0; 2];
    for seed in 1..=SEEDS {
        let [snare, kick] = gaps(&kit.groove(seed));
        println!(
            "seed {seed}: snare {snare:+.2} ({:+.1} +- {:.1}), kick {kick:+.2} ({:+.1} +- {:.1})",
            SNARE.0, SNARE.1, KICK.0, KICK.1
        );
        right[0] += usize::from((snare - SNARE.0).abs() <= SNARE.1);
        right[1] += usize::from((kick - KICK.0).abs() <= KICK.1);
    }
    println!(
        "within: snare {} of {SEEDS}, kick {} of {SEEDS}",
        right[0], right[1]
    );
    let enough = right.iter().all(|right| *right >= WITHIN);
    assert!(enough, "snare and kick within: {right:?} of {SEEDS}");
}
