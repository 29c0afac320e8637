//! The Sweep mode as a host hears it: null point, bounces, song position.

use crate::audio::{noise, open, random_lengths, run};
use plumbline_hosting::{Instance, Session, Song};

/// 120 bpm: a bar is two seconds.
const SONG: Song = Song {
    seconds: 0.0,
    tempo_bpm: 120.0,
    beats_per_bar: 4,
};

/// A difference that two bounces may have, dB of full scale, as its power says. Single samples may round to the next
/// number of single precision, 2^-24 away at half scale.
const SAME_DB: f64 = -140.0;

fn decks(settings: &[(&str, f64)]) -> Instance {
    let mut instance = open(Session {
        max_block: 4_096,
        ..Session::default()
    });
    instance.set("mode", 1.0).unwrap();
    for (id, value) in settings {
        instance.set(id, *value).unwrap();
    }
    instance.restart().unwrap();
    instance
}

/// A cycle of one bar, one beat of it behind the null point.
const CYCLE: [(&str, f64); 4] = [
    ("motion", 1.0),
    ("length", 4.0),
    ("range", 2.0),
    ("wow", 0.2),
];

fn played(instance: &mut Instance, input: &[f32], lengths: impl FnMut() -> usize) -> Vec<Vec<f32>> {
    let mut main = vec![input.to_vec(), input.to_vec()];
    let spot = vec![vec![0.0; input.len()]; 2];
    run(instance, &mut main, &spot, lengths);
    main
}

fn difference_db(a: &[f32], b: &[f32]) -> f64 {
    let power: f64 = a.iter().zip(b).map(|(a, b)| f64::from(a - b).powi(2)).sum();
    10.0 * (power / a.len() as f64).log10()
}

#[test]
fn at_the_null_point_the_decks_are_one_and_turned_over_they_are_silent() {
    let input = noise(12_000, 1);
    let mut instance = decks(&[]);
    let latency = instance.latency() as usize;
    let out = played(&mut instance, &input, || 512);
    assert!(
        out.iter()
            .all(|c| c[latency..] == input[..12_000 - latency])
    );
    let out = played(&mut decks(&[("flip", 1.0)]), &input, || 512);
    assert!(out.iter().flatten().all(|x| *x == 0.0));
    // Both fades end within 2 000 samples, and the decks are heard as one or not at all.
    let mut bypassed = decks(&[("flip", 1.0), ("bypass", 1.0)]);
    let out = played(&mut bypassed, &input, || 512);
    assert!(
        out.iter()
            .all(|c| c[latency..] == input[..12_000 - latency])
    );
}

#[test]
fn an_offset_is_a_second_copy_that_much_later() {
    // 2 ms are 96 samples: both decks are read at whole samples and each impulse stays one.
    let mut instance = decks(&[("offset", 2.0)]);
    let latency = instance.latency() as usize;
    let mut impulse = vec![0.0; 8_000];
    impulse[3_000] = 1.0;
    let out = played(&mut instance, &impulse, || 512);
    assert!((out[0][3_000 + latency] - 0.5).abs() < 1e-4);
    assert!((out[0][3_000 + latency + 96] - 0.5).abs() < 1e-3);
}

#[test]
fn a_bounce_is_the_same_whatever_the_block_size_with_the_transport_running_or_standing() {
    let input = noise(48_000, 2);
    for song in [Some(SONG), None] {
        let bounce = |lengths: &mut dyn FnMut() -> usize| {
            let mut instance = decks(&CYCLE);
            instance.play_from(song);
            played(&mut instance, &input, lengths)
        };
        let whole = bounce(&mut || 4_096);
        for length in [1, 64, 1_024] {
            let difference = difference_db(&bounce(&mut || length)[1], &whole[1]);
            println!("blocks of {length} against 4096: {difference:.1} dB");
            assert!(difference <= SAME_DB, "blocks of {length}: {difference} dB");
        }
        let random = bounce(&mut random_lengths(4_096, 8));
        assert!(difference_db(&random[0], &whole[0]) <= SAME_DB);
    }
}

#[test]
fn a_start_in_the_middle_gives_what_a_start_at_the_front_gives() {
    // Four bars, and the last two of them alone.
    let input = noise(4 * 96_000, 3);
    let mut instance = decks(&CYCLE);
    instance.play_from(Some(SONG));
    let whole = played(&mut instance, &input, || 4_096);
    let mut instance = decks(&CYCLE);
    instance.play_from(Some(SONG.after(4.0)));
    let latter = played(&mut instance, &input[2 * 96_000..], || 1_000);
    // From where both have heard the same: the latency and the farthest offset.
    let from = 2_000;
    let difference = difference_db(&latter[0][from..], &whole[0][2 * 96_000 + from..]);
    println!("bars 3 and 4 alone against all four: {difference:.1} dB");
    assert!(difference <= SAME_DB, "{difference} dB");
}

#[test]
fn a_pass_is_at_the_null_point_in_the_middle_of_its_bar() {
    // One pass of a bar, cued in the first bar, runs through the second: its middle is beat 6, at 3 s.
    let mut instance = decks(&[
        ("motion", 2.0),
        ("length", 4.0),
        ("curve", 1.0),
        ("range", 12.0),
    ]);
    let latency = instance.latency() as usize;
    instance.play_from(Some(SONG));
    let mut input = vec![0.0; 4 * 48_000];
    let middle = 3 * 48_000;
    // A click in the middle, and one a quarter of the bar before it, when the moving deck is 6 ms early.
    let before = middle - 24_000;
    (input[before], input[middle]) = (1.0, 1.0);
    let head = played(&mut instance, &input[..24_000], || 512);
    instance.set("start", 1.0).unwrap();
    let rest = played(&mut instance, &input[24_000..], || 512);
    let out = [head[0].clone(), rest[0].clone()].concat();
    assert!(out[middle + latency] > 0.99, "{}", out[middle + latency]);
    let apart = &out[before + latency - 1_000..before + latency + 1_000];
    assert!(
        apart[1_000] < 0.51 && apart[1_000] > 0.49,
        "{}",
        apart[1_000]
    );
}

#[test]
fn whatever_is_turned_while_the_decks_run_comes_out_finite_and_without_allocation() {
    let mut instance = decks(&[]);
    instance.play_from(Some(SONG));
    let turns = [
        ("motion", 1.0),
        ("sync", 0.0),
        ("rate", 5.0),
        ("curve", 2.0),
        ("motion", 3.0),
        ("drag", 100.0),
        ("width", -100.0),
        ("recue", 1.0),
        ("motion", 2.0),
        ("start", 1.0),
        ("blend", 100.0),
        ("flutter", 0.5),
        ("offset", -12.0),
        ("motion", 0.0),
        ("engage", 0.0),
        ("flip", 1.0),
        ("bypass", 1.0),
        ("range", 0.05),
    ];
    for (index, (id, value)) in turns.into_iter().enumerate() {
        instance.set(id, value).unwrap();
        let out = played(
            &mut instance,
            &noise(6_000, index as u32),
            random_lengths(900, 4),
        );
        assert!(
            out.iter().flatten().all(|x| x.is_finite() && x.abs() < 4.0),
            "{id}"
        );
        if index % 5 == 4 {
            instance.play_from(Some(SONG.after(index as f64)));
        }
    }
}

#[test]
fn after_an_hour_the_decks_are_where_a_fresh_start_puts_them() {
    let bar = vec![0.0; 96_000];
    let tone: Vec<f32> = (0..2 * 96_000)
        .map(|n| (f64::from(n) * std::f64::consts::TAU / 48.0).sin() as f32)
        .collect();
    let last_bars = |instance: &mut Instance| played(instance, &tone, || 4_096)[0].clone();
    let mut instance = decks(&CYCLE);
    instance.play_from(Some(SONG));
    for _ in 0..1_800 {
        played(&mut instance, &bar, || 4_096);
    }
    let after_an_hour = last_bars(&mut instance);
    let mut instance = decks(&CYCLE);
    instance.play_from(Some(SONG.after(3_600.0)));
    let fresh = last_bars(&mut instance);
    // The first bar fills the lines. Apart by a delay, two copies of a 1 kHz tone differ by its slope.
    let apart: f64 = after_an_hour[96_000..]
        .iter()
        .zip(&fresh[96_000..])
        .map(|(a, b)| f64::from((a - b).abs()))
        .fold(0.0, f64::max);
    let samples = apart * 48.0 / std::f64::consts::TAU;
    println!("apart after an hour: {samples:.2e} sample");
    assert!(samples < 0.01, "{samples} sample");
}
