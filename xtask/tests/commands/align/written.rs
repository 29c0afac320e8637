//! What is written: the corrected pair, whole and in time, and never over something that was there.

use super::strokes::{GAP, Strokes, TO_FIRST};
use super::{align, answer};
use crate::command::{json, message, number};
use crate::files::{Folder, RATE, read};
use crate::tape::printed;
use plumbline_dsp::print::settings::{PrintSettings, TapeSpeed};
use plumbline_hosting::delayed;

/// Largest difference of two stretches, the second one taken `later` samples later.
fn difference(was: &[f32], is: &[f32], later: usize) -> f32 {
    was.iter()
        .zip(&is[later..])
        .fold(0.0, |worst, (was, is)| worst.max((was - is).abs()))
}

#[test]
fn the_earlier_overhead_waits_and_the_later_one_stays() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, spot] = strokes.store(&folder);
    let out = folder.path("out");
    let answer = answer(&pair, &spot, &["--out", out.to_str().unwrap(), "--report"]);
    let gap = number(&answer, "attack_gap_samples");
    assert!((gap - GAP as f64).abs() < 0.3, "gap {gap}");
    assert!((number(&answer, "spot_to_first_samples") - TO_FIRST as f64).abs() < 3.0);
    assert!((number(&answer, "first_delay_samples") - gap).abs() < 1e-6);
    assert_eq!(number(&answer, "second_delay_samples"), 0.0);
    assert_eq!(answer["second_polarity"], "same");
    assert!(number(&answer, "mono_sum_gain_db") > 0.5);
    let corrected = read(&out.join("pair-aligned.wav"));
    assert_eq!(
        corrected[0].len(),
        strokes.first.len(),
        "the file is as long as the take"
    );
    // The second channel has not moved: the same samples at the same place, but for the reader's -110 dB.
    assert!(difference(&strokes.second, &corrected[1], 0) < 1e-4);
    let sheet = std::fs::read_to_string(out.join("pair-recall.html")).expect("the recall sheet");
    for part in [
        "Plan, from above",
        "Lag, second",
        "Arrivals",
        "Mono-sum loss",
        "Move the second",
    ] {
        assert!(sheet.contains(part), "{part:?} is missing from the sheet");
    }
    assert!(
        !sheet.contains("http"),
        "the sheet needs nothing from elsewhere"
    );
}

#[test]
fn nothing_is_replaced_without_force() {
    let folder = Folder::new();
    let [pair, spot] = Strokes::new().store(&folder);
    let out = folder.path("out");
    std::fs::create_dir(&out).unwrap();
    let old = folder.bytes("out/pair-aligned.wav", b"precious");
    let arguments = [
        pair.as_os_str(),
        "--spot".as_ref(),
        spot.as_os_str(),
        "--out".as_ref(),
        out.as_os_str(),
    ];
    let stopped = align(&arguments);
    let message = message(&stopped);
    assert_eq!(stopped.status.code(), Some(2), "{message}");
    assert!(
        message.contains("already there") && message.contains("--force"),
        "{message}"
    );
    assert_eq!(std::fs::read(&old).unwrap(), b"precious");
    let forced = align(&[&arguments[..], &["--force".as_ref()]].concat());
    assert!(
        forced.status.success(),
        "{}",
        crate::command::message(&forced)
    );
    assert_eq!(read(&old).len(), 2);
}

#[test]
fn two_mono_files_come_back_as_two() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [_, spot] = strokes.store(&folder);
    let first = folder.wav("OH near.wav", RATE, &[&strokes.first]);
    let second = folder.wav("OH far.wav", RATE, &[&strokes.second]);
    let out = folder.path("out");
    let output = align(&[
        "--first".as_ref(),
        first.as_os_str(),
        "--second".as_ref(),
        second.as_os_str(),
        "--spot".as_ref(),
        spot.as_os_str(),
        "--out".as_ref(),
        out.as_os_str(),
    ]);
    assert!(output.status.success(), "{}", message(&output));
    assert_eq!(read(&out.join("OH near-aligned.wav")).len(), 1);
    assert!(
        difference(
            &strokes.second,
            &read(&out.join("OH far-aligned.wav"))[0],
            0
        ) < 1e-4
    );
}

#[test]
fn an_anchor_gets_the_reach_it_needs_unless_told_otherwise() {
    let folder = Folder::new();
    let [pair, spot] = Strokes::new().store(&folder);
    let free = answer(&pair, &spot, &["--anchor", "first"]);
    assert!(
        (number(&free, "second_delay_samples") + GAP as f64).abs() < 0.3,
        "{free}"
    );
    let later = answer(&pair, &spot, &[]);
    assert!(
        number(&free, "latency_samples") > number(&later, "latency_samples"),
        "reach is latency"
    );
    let held = answer(&pair, &spot, &["--anchor", "first", "--reach", "0"]);
    assert_eq!(number(&held, "second_delay_samples"), 0.0);
    assert!(
        held["verdict"].as_str().unwrap().contains("more reach"),
        "{held}"
    );
}

#[test]
fn amount_applies_a_part_and_the_range_chooses_the_hits() {
    let folder = Folder::new();
    let [pair, spot] = Strokes::new().store(&folder);
    let half = answer(&pair, &spot, &["--amount", "50%"]);
    let gap = number(&half, "attack_gap_samples");
    assert!((number(&half, "first_delay_samples") - gap / 2.0).abs() < 1e-6);
    let part = answer(&pair, &spot, &["--from", "1.1", "--to", "2.6"]);
    assert_eq!(number(&part, "hits"), 3.0, "strokes at 1.3, 1.8 and 2.3 s");
    assert!((number(&part, "attack_gap_samples") - GAP as f64).abs() < 0.3);
}

#[test]
fn a_further_spot_on_the_same_drum_makes_no_second_row() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, spot] = strokes.store(&folder);
    let other = folder.wav("tom.wav", RATE, &[&strokes.spot]);
    let all = answer(&pair, &spot, &["--spot", other.to_str().unwrap()]);
    let names: Vec<&str> = all["voices"]
        .as_array()
        .unwrap()
        .iter()
        .map(|voice| voice["name"].as_str().unwrap())
        .collect();
    assert_eq!(names.len(), 1, "{names:?}");
    let output = align(&[pair.as_os_str(), "--spot".as_ref(), spot.as_os_str()]);
    let words = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        words.contains("Move the second") && words.contains("Nothing was written"),
        "{words}"
    );
}

#[test]
fn the_print_is_the_pair_with_the_kick_in_time() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, _] = strokes.store(&folder);
    // The kick's cable is reversed.
    let negated: Vec<f32> = strokes.spot.iter().map(|sample| -sample).collect();
    let kick = folder.wav("kick in.wav", RATE, &[&negated]);
    let out = folder.path("out");
    let output = align(&[
        pair.as_os_str(),
        "--kick".as_ref(),
        kick.as_os_str(),
        "--spot-in-print".as_ref(),
        "-6".as_ref(),
        "--json".as_ref(),
        "--out".as_ref(),
        out.as_os_str(),
    ]);
    let answer = json(&output);
    let delay = number(&answer, "spot_delay_samples");
    assert!((delay - (TO_FIRST + GAP) as f64).abs() < 0.5, "{delay}");
    assert_eq!(answer["spot_polarity_reversed"], true);
    assert_eq!(answer["voices"][0]["name"], answer["drum"]);
    let corrected = read(&out.join("pair-aligned.wav"));
    let print = read(&out.join("pair-print.wav"));
    assert_eq!(print[0].len(), strokes.first.len(), "as long as the take");
    // The kernel's own edge near half the rate is smoothed away; the hosted tests hold the rest to -100 dB.
    let level = 10f32.powf(-6.0 / 20.0);
    let ideal = smoothed(&delayed(&strokes.spot, delay));
    for (print, pair) in print.iter().zip(&corrected) {
        let added: Vec<f32> = print.iter().zip(pair).map(|(a, b)| a - b).collect();
        let errors = smoothed(&added).into_iter().zip(&ideal);
        let error: f32 = errors.map(|(x, ideal)| (x - level * ideal).powi(2)).sum();
        let share = error / ideal.iter().map(|x| (level * x).powi(2)).sum::<f32>();
        assert!(share < 1e-3, "{share} of the power is not the delayed kick");
    }
}

#[test]
fn the_print_on_tape_is_the_corrected_pair_as_tape_gives_it_back_and_the_sheet_has_its_line_up() {
    let folder = Folder::new();
    let strokes = Strokes::new();
    let [pair, spot] = strokes.store(&folder);
    let out = folder.path("out");
    let output = align(&[
        pair.as_os_str(),
        "--spot".as_ref(),
        spot.as_os_str(),
        "--print".as_ref(),
        "--level-to-tape".as_ref(),
        "12".as_ref(),
        "--tape-speed".as_ref(),
        "76".as_ref(),
        "--json".as_ref(),
        "--report".as_ref(),
        "--out".as_ref(),
        out.as_os_str(),
    ]);
    let answer = json(&output);
    assert_eq!(answer["tape"]["tape_speed_cm_s"], 76);
    assert_eq!(answer["spot_delay_samples"], serde_json::Value::Null);
    let corrected = read(&out.join("pair-aligned.wav"));
    let print = read(&out.join("pair-print.wav"));
    assert_eq!(print[0].len(), strokes.first.len(), "as long as the take");
    let tape = PrintSettings {
        level_db: 12.0,
        speed: TapeSpeed::Cm76,
        ..PrintSettings::default()
    };
    let ideal = printed(&corrected, RATE, &tape);
    for ((print, ideal), pair) in print.iter().zip(&ideal).zip(&corrected) {
        let error = difference(print, ideal, 0);
        assert!(error < 1e-5, "{error} from the tape of the corrected pair");
        assert!(difference(print, pair, 0) > 1e-3, "nothing was printed");
    }
    let sheet = std::fs::read_to_string(out.join("pair-recall.html")).unwrap();
    for part in [
        "line-up",
        "+12.0 dB",
        "76 cm/s",
        "IEC",
        "320 nWb/m",
        "-18.0 dBFS",
    ] {
        assert!(sheet.contains(part), "{part:?} is not on the sheet");
    }
}

/// Three neighbours together, 1 : 2 : 1: nothing is left at half the rate.
fn smoothed(samples: &[f32]) -> Vec<f32> {
    let threes = samples.windows(3);
    threes
        .map(|x| 0.25 * x[0] + 0.5 * x[1] + 0.25 * x[2])
        .collect()
}
