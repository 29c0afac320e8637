//! The Sweep mode in a host of either format: latency, null point, comb, long runs.

use super::instance::{DecksInstance, DecksSession, Format, Pair, offsets_s, probe_tone};
use plumbline_hosting::{Song, Tempo, noise, random_lengths};
use std::f64::consts::TAU;

/// A bar is two seconds.
const SONG: Song = Song {
    seconds: 0.0,
    tempo: Tempo::steady(120.0),
    beats_per_bar: 4,
};

/// A cycle of one bar, one beat of it behind the null point.
const CYCLE: [(&str, f64); 4] = [
    ("motion", 1.0),
    ("length", 4.0),
    ("range", 2.0),
    ("wow", 0.2),
];

fn both(channel: Vec<f32>) -> Pair {
    [channel.clone(), channel]
}

#[test]
fn the_latency_is_the_lead_and_half_a_kernel_and_true_to_the_sample_at_every_rate() {
    for format in Format::BOTH {
        for rate in [44_100.0, 48_000.0, 96_000.0, 192_000.0] {
            let session = DecksSession {
                rate,
                ..DecksSession::of(format)
            };
            // Half a kernel for Align, half a kernel for the decks.
            let lead = (0.012 * rate).ceil() as usize;
            let align = DecksInstance::open(session, &[("mode", 0.0)]).latency();
            for (id, value) in [
                ("bypass", 0.0),
                ("bypass", 1.0),
                ("engage", 0.0),
                ("blend", 0.0),
            ] {
                let mut decks = DecksInstance::open(session, &[(id, value)]);
                let latency = decks.latency();
                assert_eq!(latency, lead + 2 * align, "{format:?}, {rate} Hz");
                let mut impulse = vec![0.0; 8_000];
                impulse[100] = 1.0;
                for channel in decks.run(&both(impulse), || 512) {
                    let nonzero: Vec<_> = (0..8_000).filter(|&n| channel[n] != 0.0).collect();
                    assert_eq!(
                        nonzero,
                        [100 + latency],
                        "{format:?}, {rate} Hz, {id} {value}"
                    );
                    assert_eq!(channel[100 + latency], 1.0);
                }
                assert_eq!(decks.latency(), latency);
                // The farthest offset follows by 12 ms.
                assert!(decks.tail() >= latency + lead, "{format:?}, {rate} Hz");
            }
        }
    }
}

#[test]
fn at_the_null_point_the_decks_are_one_and_one_reversed_they_are_silent() {
    // Asked for: the sum within 0.001 dB, the difference at most -140 dB. It is the input, bit for bit, and nothing.
    for format in Format::BOTH {
        for rate in [44_100.0, 48_000.0, 96_000.0, 192_000.0] {
            let session = DecksSession {
                rate,
                ..DecksSession::of(format)
            };
            let input = noise(12_000, 1);
            let mut decks = DecksInstance::open(session, &[]);
            let latency = decks.latency();
            let is_input = |out: &Pair| {
                out.iter()
                    .all(|c| c[latency..] == input[..12_000 - latency])
            };
            assert!(
                is_input(&decks.run(&both(input.clone()), || 512)),
                "{format:?}, {rate} Hz"
            );
            let mut flipped = DecksInstance::open(session, &[("flip", 1.0)]);
            let out = flipped.run(&both(input.clone()), || 512);
            assert!(
                out.iter().flatten().all(|x| *x == 0.0),
                "{format:?}, {rate} Hz"
            );
            let mut bypassed = DecksInstance::open(session, &[("flip", 1.0), ("bypass", 1.0)]);
            assert!(is_input(&bypassed.run(&both(input.clone()), || 512)));
        }
    }
}

#[test]
fn an_offset_is_a_second_copy_that_much_later_or_earlier() {
    // 2 ms are 96 samples: both decks are read at whole samples and each impulse stays one.
    for format in Format::BOTH {
        for (offset_ms, later) in [(2.0, 96), (-2.0, -96), (12.0, 576), (-12.0, -576)] {
            let mut decks = DecksInstance::open(DecksSession::of(format), &[("offset", offset_ms)]);
            let latency = decks.latency();
            let mut impulse = vec![0.0; 8_000];
            impulse[3_000] = 1.0;
            let out = decks.run(&both(impulse), || 512);
            let at = 3_000 + latency;
            assert!(
                (out[0][at] - 0.5).abs() < 1e-4,
                "{format:?}, {offset_ms} ms"
            );
            let copy = out[1][at.strict_add_signed(later)];
            assert!((copy - 0.5).abs() < 1e-3, "{format:?}, {offset_ms} ms");
        }
    }
}

#[test]
fn the_second_channel_takes_its_part_of_the_offset() {
    // Width: 100 % alike, 0 the second stays, -100 % the other way round.
    for format in Format::BOTH {
        for (width, later) in [(100.0, 96), (50.0, 48), (0.0, 0), (-100.0, -96)] {
            let settings = [("offset", 2.0), ("width", width), ("blend", 100.0)];
            let mut decks = DecksInstance::open(DecksSession::of(format), &settings);
            let at = 3_000 + decks.latency();
            let mut impulse = vec![0.0; 8_000];
            impulse[3_000] = 1.0;
            let out = decks.run(&both(impulse), || 512);
            assert!((out[0][at + 96] - 1.0).abs() < 1e-3);
            let second = out[1][at.strict_add_signed(later)];
            assert!(
                (second - 1.0).abs() < 1e-3,
                "{format:?}, {width} %: {second}"
            );
        }
    }
}

#[test]
fn whatever_is_turned_while_the_decks_run_comes_out_finite_and_without_allocation() {
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
    for format in Format::BOTH {
        let mut decks = DecksInstance::open(DecksSession::of(format), &[]);
        decks.play_from(Some(SONG));
        for (index, (id, value)) in turns.into_iter().enumerate() {
            decks.set(id, value);
            let out = decks.run(&both(noise(6_000, index as u64)), random_lengths(900, 4));
            let sound = out.iter().flatten().all(|x| x.is_finite() && x.abs() < 4.0);
            assert!(sound, "{format:?}, {id}");
            if index % 5 == 4 {
                decks.play_from(Some(SONG.after(index as f64)));
            }
        }
    }
}

#[test]
fn after_an_hour_the_null_point_is_where_a_fresh_start_puts_it() {
    let bar = both(vec![0.0; 96_000]);
    let tone: Vec<f32> = (0..2 * 96_000)
        .map(|n| (f64::from(n) * TAU / 48.0).sin() as f32)
        .collect();
    let tone = both(tone);
    for format in Format::BOTH {
        let mut decks = DecksInstance::open(DecksSession::of(format), &CYCLE);
        decks.play_from(Some(SONG));
        for _ in 0..1_800 {
            decks.run(&bar, || 4_096);
        }
        let after_an_hour = decks.run(&tone, || 4_096);
        let mut decks = DecksInstance::open(DecksSession::of(format), &CYCLE);
        decks.play_from(Some(SONG.after(3_600.0)));
        let fresh = decks.run(&tone, || 4_096);
        // The first bar fills the lines. Apart by a delay, two copies of a 1 kHz tone differ by its slope.
        let pairs = after_an_hour[0][96_000..].iter().zip(&fresh[0][96_000..]);
        let apart = pairs.map(|(a, b)| f64::from((a - b).abs()));
        let samples = apart.fold(0.0, f64::max) * 48.0 / TAU;
        println!("{format:?}: apart after an hour: {samples:.2e} sample");
        assert!(samples < 0.01, "{format:?}: {samples} sample");
    }
}

#[test]
fn drag_falls_behind_as_long_as_the_deck_is_held_and_recue_brings_it_back() {
    // Full drag is a speed deficit of 3 %; d(t) = e (t - τ (1 - exp(-t / τ))), τ 0.2 s, for 0.3 s (computed).
    let held_s = 0.3f64;
    let due = 0.03 * (held_s - 0.2 * (1.0 - (-held_s / 0.2).exp()));
    for format in Format::BOTH {
        for side in [1.0, -1.0] {
            let settings = [
                ("motion", 3.0),
                ("range", 12.0),
                ("blend", 100.0),
                ("drag", 100.0 * side),
            ];
            let mut decks = DecksInstance::open(DecksSession::of(format), &settings);
            let latency = decks.latency();
            decks.play_from(Some(SONG));
            let out = decks.run(&probe_tone(48_000.0, 48_000), || 64);
            let offset_s = offsets_s(&out, 48_000.0, latency)[(held_s * 48_000.0) as usize];
            let case = format!("{format:?}, side {side}: {offset_s} s");
            assert!((offset_s - side * due).abs() < 2e-6, "{case} for {due}");
            decks.set("recue", 1.0);
            decks.run(&both(vec![0.0; 96_000]), || 512);
            // Both decks are one again: the impulse comes out whole.
            let mut impulse = vec![0.0; 4_000];
            impulse[0] = 1.0;
            assert_eq!(decks.run(&both(impulse), || 512)[0][latency], 1.0, "{case}");
        }
    }
}
