//! Where the moving deck goes: each motion against what was asked for.

use super::{noise, nulls, sweep, swept};
use crate::command::number;
use crate::files::{Folder, RATE, read};

/// At 120 bpm a bar takes two seconds.
const BAR: usize = 2 * RATE as usize;

/// Asked for, and the samples on which the decks must be together.
const TABLE: [(&str, &[f64]); 9] = [
    // Bars 2 and 3: the middle is the line of bar 3.
    ("--motion pass --start-at 2 --length 2bars", &[2.0]),
    (
        "--motion pass --start-at 1 --length 4bars --curve reel",
        &[2.0],
    ),
    // In the file bar 1 begins at half a second, a quarter of a bar.
    (
        "--motion pass --start-at 2 --length 2bars --first-bar 0.5",
        &[2.25],
    ),
    ("--motion pass --null-at 3.25 --length 2bars", &[2.25]),
    (
        "--motion pass --null-at 3 --ease 0.5 --length 2bars --offset 1",
        &[2.0],
    ),
    ("--start turnaround --null-at 3", &[2.0]),
    (
        "--motion cycle --length 2bars --curve triangle",
        &[0.0, 1.0, 2.0, 3.0],
    ),
    ("--motion hand --offset 1:-2,2:-2,4:2", &[2.0]),
    // A pass of two seconds, begun without waiting for a bar.
    ("--motion pass --start-at 1.5 --rate 0.5", &[1.0]),
];

#[test]
fn the_null_points_lie_where_they_were_drawn_within_one_sample() {
    let folder = Folder::new();
    let input = noise(2, 4 * BAR);
    let file = folder.wav("in.wav", RATE, &input);
    for (asked, bars) in TABLE {
        let (answer, print) = swept(&folder, &file, asked);
        let found = nulls(&answer);
        println!("{asked}: {found:?}");
        assert_eq!(found.len(), bars.len(), "{asked}: {found:?}");
        for (found, bar) in found.iter().zip(bars) {
            let drawn = bar * BAR as f64;
            assert!((found - drawn).abs() < 1.0, "{asked}: {found} for {drawn}");
            // There the print is the file; a tenth of a second later the decks are apart.
            let sample = drawn as usize;
            let off = |sample: usize| (print[0][sample] - input[0][sample]).abs();
            assert!(
                off(sample) < 0.02,
                "{asked}: {} at the null point",
                off(sample)
            );
            let later = sample + RATE as usize / 10;
            let apart = (later..later + 200).map(off).fold(0.0, f32::max);
            assert!(apart > 0.1, "{asked}: {apart} after the null point");
        }
    }
}

#[test]
fn another_rate_and_another_tempo_give_the_same_bar() {
    let folder = Folder::new();
    for (rate, tempo) in [(44_100, 108.0), (96_000, 97.3)] {
        let bar = 240.0 / tempo * f64::from(rate);
        let file = folder.wav("in.wav", rate, &noise(1, (3.0 * bar) as usize));
        let asked = format!("--motion pass --length 2bars --tempo {tempo}");
        let found = nulls(&swept(&folder, &file, &asked).0);
        println!("{rate} Hz, {tempo} bpm: {found:?} for {bar}");
        assert!(found.len() == 1 && (found[0] - bar).abs() < 1.0);
    }
}

#[test]
fn a_braked_deck_falls_behind_stays_there_and_comes_back_when_the_other_is_braked() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, 4 * BAR));
    let asked = "--motion drag --range 5 --drag 1.5:0,1.5:40,1.7:0,3:0,3:-40,3.3:0";
    let (answer, _) = swept(&folder, &file, asked);
    let (least, greatest) = (
        number(&answer, "least_offset_ms"),
        number(&answer, "greatest_offset_ms"),
    );
    println!("{least} to {greatest} ms");
    assert!(greatest > 1.0 && greatest <= 5.0 && least < -0.1);
    let found = answer["null_points"].as_array().unwrap();
    assert_eq!(
        found.len(),
        2,
        "together at first, and once on the way back"
    );
    // Together until the hand comes down, half a bar in.
    assert!((found[0]["rests_s"].as_f64().unwrap() - 1.0).abs() < 0.02);
    assert!(found[1]["sample"].as_f64().unwrap() > 2.0 * BAR as f64);
}

#[test]
fn two_passes_are_two_null_points_and_the_way_back_is_none() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(1, 6 * BAR));
    let asked = "--motion pass --length 2bars --start-at 1 --start-at 4";
    let found = nulls(&swept(&folder, &file, asked).0);
    let drawn = [BAR as f64, 4.0 * BAR as f64];
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(
        found
            .iter()
            .zip(drawn)
            .all(|(at, drawn)| (at - drawn).abs() < 1.0)
    );
}

#[test]
fn the_figure_stands_alone_and_shows_the_null_point_on_its_bar() {
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, 4 * BAR));
    let figure = folder.path("figure.svg");
    let asked = format!("--motion pass --length 4bars --figure {}", figure.display());
    let output = sweep(&file, &folder.path("out.wav"), &asked);
    let words = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success(), "{output:?}");
    for part in [
        "null point  bar 3, beat 1.00",
        "written",
        "figure.svg",
        "peak",
    ] {
        assert!(words.contains(part), "{part:?} is not in {words:?}");
    }
    assert_eq!(read(&folder.path("out.wav"))[0].len(), 4 * BAR);
    let drawing = std::fs::read_to_string(figure).unwrap();
    for part in ["xmlns", "null point, bar 3", "shade-5", "#B8452C"] {
        assert!(drawing.contains(part), "{part:?} is not in the drawing");
    }
    assert!(!drawing.contains("var("), "colours are whole");
}

#[test]
fn under_a_tempo_ramp_the_null_point_is_on_its_bar() {
    // 100 up to bar 2, 140 from bar 5 on: three bars at 120 in the mean. A pass of bars 3 and 4 meets on bar 4's line.
    let folder = Folder::new();
    let file = folder.wav("in.wav", RATE, &noise(2, 14 * RATE as usize));
    let asked = "--tempo 2:100,5:140 --motion pass --start-at 3 --length 2bars";
    let (answer, _) = swept(&folder, &file, asked);
    // Quarter notes since the ramp began are (100 t + 20 t² / 6) / 60; the line is eight of them on.
    let slope = 20.0 / 6.0;
    let t = (-100.0 + (100.0f64 * 100.0 + 4.0 * slope * 480.0).sqrt()) / (2.0 * slope);
    let line = (2.4 + t) * f64::from(RATE);
    let found = nulls(&answer);
    println!("{found:?} for {line}");
    assert_eq!(found.len(), 1, "{found:?}");
    assert!((found[0] - line).abs() < 1.0, "{found:?} for {line}");
}
