//! The decks in the song's time: equal bounces for any blocks, tempo and transport.

use super::instance::{
    DecksInstance, DecksSession, Format, Pair, difference_db, offsets_s, probe_tone,
};
use crate::vst3::host::Render;
use plumbline_hosting::{Song, Tempo, noise, random_lengths};
use std::ops::Range;

/// A bar takes a second.
const STEADY: Song = Song {
    seconds: 0.0,
    tempo: Tempo::steady(240.0),
    beats_per_bar: 4,
};

/// From 200 to 280 in four seconds: steeper than music is.
const RAMP: Song = Song {
    seconds: 0.0,
    tempo: Tempo::ramp((200.0, 280.0), (1.0, 5.0)),
    beats_per_bar: 4,
};

/// Two renders are one: power of what differs, dB of full scale.
const SAME_DB: f64 = -140.0;

/// After a start or a jump: the latency, the farthest offset and the cross-fade.
const SETTLED_S: f64 = 0.050;

/// Points of a drawn line in a second.
const POINTS: f64 = 750.0;

/// A control and its line over the song's seconds.
type Line = (&'static str, fn(f64) -> f64);

/// A way to use the decks.
struct Case {
    name: &'static str,
    settings: &'static [(&'static str, f64)],
    line: Option<Line>,
}

const CASES: [Case; 7] = [
    Case {
        name: "hand",
        settings: &[],
        line: Some(("offset", |seconds| 2.0 * (2.0 * seconds).sin())),
    },
    Case {
        name: "cycle of a bar",
        settings: &[("motion", 1.0), ("length", 4.0), ("range", 2.0)],
        line: None,
    },
    Case {
        name: "cycle of drawn range",
        settings: &[("motion", 1.0), ("length", 5.0), ("curve", 2.0)],
        line: Some(("range", |seconds| 3.0 + seconds.cos())),
    },
    Case {
        name: "free cycle",
        settings: &[
            ("motion", 1.0),
            ("sync", 0.0),
            ("rate", 0.37),
            ("curve", 1.0),
        ],
        line: None,
    },
    Case {
        // Cued in the fifth bar at the earliest, on the line of the next.
        name: "pass",
        settings: &[("motion", 2.0), ("length", 4.0)],
        line: Some(("start", |seconds| if seconds > 4.2 { 1.0 } else { 0.0 })),
    },
    Case {
        // Comes in within bar 2, goes out within bar 5.
        name: "pass through its bar",
        settings: &[
            ("motion", 2.0),
            ("length", 5.0),
            ("null_at", 4.25),
            ("ease", 0.5),
        ],
        line: None,
    },
    Case {
        name: "wow and flutter",
        settings: &[("wow", 0.05), ("flutter", 0.05)],
        line: None,
    },
];

impl Case {
    /// From the settings and the line's point at this time of the song on.
    fn open(
        &self,
        session: DecksSession,
        song: Song,
        more: &[(&'static str, f64)],
    ) -> DecksInstance {
        let mut settings = [self.settings, more].concat();
        if let Some((id, line)) = self.line {
            let point = (song.seconds * POINTS).floor() / POINTS;
            settings.push((id, line(point)));
        }
        let mut decks = DecksInstance::open(session, &settings);
        decks.play_from(Some(song));
        decks
    }

    /// The points that fall into a block of the song's samples.
    fn draw(&self, decks: &mut DecksInstance, rate: f64, block: Range<usize>) {
        let Some((id, line)) = self.line else {
            return;
        };
        let first = (block.start as f64 * POINTS / rate).ceil() as usize;
        for point in first.. {
            let seconds = point as f64 / POINTS;
            let at = (seconds * rate).round() as usize;
            if at >= block.end {
                return;
            }
            decks.set_at(at.saturating_sub(block.start), id, line(seconds));
        }
    }

    /// Plays `input` from a sample of the song on.
    fn play(
        &self,
        session: DecksSession,
        song: Song,
        from: usize,
        input: &Pair,
        mut lengths: impl FnMut() -> usize,
    ) -> Pair {
        let song = song.after(from as f64 / session.rate);
        let mut decks = self.open(session, song, &[]);
        decks.run_drawn(input, &mut lengths, |decks, block| {
            self.draw(decks, session.rate, block.start + from..block.end + from);
        })
    }

    /// Where the moving deck is over the song's first seconds, one offset a sample.
    fn offsets_s(
        &self,
        session: DecksSession,
        song: Song,
        seconds: f64,
        length: usize,
    ) -> Vec<f64> {
        let mut decks = self.open(session, song, &[("blend", 100.0)]);
        let latency = decks.latency();
        let input = probe_tone(session.rate, (seconds * session.rate) as usize + latency);
        let out = decks.run_drawn(&input, &mut || length, |decks, block| {
            self.draw(decks, session.rate, block);
        });
        offsets_s(&out, session.rate, latency)
    }
}

fn pair(count: usize) -> Pair {
    [noise(count, 2), noise(count, 3)]
}

fn cut(pair: &Pair, range: Range<usize>) -> Pair {
    [0, 1].map(|channel| pair[channel][range.clone()].to_vec())
}

fn settled(rate: f64) -> usize {
    (SETTLED_S * rate) as usize
}

/// The worse channel.
fn apart_db(a: &Pair, b: &Pair) -> f64 {
    let channel = |channel: usize| difference_db(&a[channel], &b[channel]);
    channel(0).max(channel(1))
}

#[test]
fn bounces_are_alike_whatever_the_blocks_the_kind_of_render_and_the_start() {
    // Five and a half bars; the second start is bar 5.
    let (count, bar_five) = (264_000, 192_000);
    let input = pair(count);
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        let offline = DecksSession {
            render: Render::Offline,
            ..session
        };
        for case in &CASES {
            let whole = case.play(session, STEADY, 0, &input, || 64);
            let check = |how: &str, from: usize, render: Pair| {
                let skip = if from > 0 { settled(session.rate) } else { 0 };
                let part = cut(&whole, from + skip..from + render[0].len());
                let apart = apart_db(&part, &cut(&render, skip..render[0].len()));
                println!("{format:?}, {}, {how}: {apart:.1} dB", case.name);
                assert!(
                    apart <= SAME_DB,
                    "{format:?}, {}, {how}: {apart} dB",
                    case.name
                );
            };
            let second = cut(&input, 0..60_000);
            check(
                "blocks of 1",
                0,
                case.play(session, STEADY, 0, &second, || 1),
            );
            check(
                "blocks of 1024",
                0,
                case.play(session, STEADY, 0, &input, || 1024),
            );
            let random = random_lengths(1024, 8);
            check(
                "random blocks",
                0,
                case.play(session, STEADY, 0, &input, random),
            );
            check("offline", 0, case.play(offline, STEADY, 0, &input, || 1024));
            let latter = cut(&input, bar_five..count);
            let latter = case.play(session, STEADY, bar_five, &latter, || 500);
            check("from bar 5", bar_five, latter);
        }
    }
}

#[test]
fn under_a_tempo_ramp_a_start_in_the_middle_gives_what_a_play_from_bar_one_gives() {
    // Where both renders know the ramp: it is told block by block, and known two blocks after it begins. The rest of it,
    // and the even tempo after it, without the block in which it ends.
    let (count, from, end) = (264_000, 100_003, 240_000);
    let input = pair(count);
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        for case in &CASES {
            let whole = case.play(session, RAMP, 0, &input, || 256);
            let rest = cut(&input, from..count);
            for length in [64, 500, 1024] {
                let latter = case.play(session, RAMP, from, &rest, || length);
                let check = |how: &str, part: Range<usize>| {
                    let inside = cut(&latter, part.start - from..part.end - from);
                    let apart = apart_db(&cut(&whole, part), &inside);
                    let label = format!("{format:?}, {}, blocks of {length}, {how}", case.name);
                    println!("{label}: {apart:.1} dB");
                    assert!(apart <= SAME_DB, "{label}: {apart} dB");
                };
                check("in the ramp", from + 2048 + settled(session.rate)..end);
                check("after it", end + 2048 + settled(session.rate)..count);
            }
        }
    }
}

#[test]
fn after_a_jump_a_loop_and_a_stop_the_song_is_where_it_would_have_been() {
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        for song in [STEADY, RAMP] {
            for case in &CASES {
                jump(session, song, case);
            }
        }
    }
}

/// Plays a stretch, stops the transport, jumps, and loops twice over a stretch; each time against a fresh start.
fn jump(session: DecksSession, song: Song, case: &Case) {
    let stretch = 12_800;
    let input = pair(stretch);
    let mut decks = case.open(session, song, &[]);
    let play = |decks: &mut DecksInstance, from: usize| {
        decks.run_drawn(&input, &mut || 64, |decks, block| {
            case.draw(decks, session.rate, block.start + from..block.end + from);
        })
    };
    play(&mut decks, 0);
    decks.play_from(None);
    decks.run(&input, || 64);
    for from in [96_000, 24_000, 24_000, 124_800] {
        decks.play_from(Some(song.after(from as f64 / session.rate)));
        let after_jump = play(&mut decks, from);
        let fresh = case.play(session, song, from, &input, || 64);
        let part = settled(session.rate)..stretch;
        let apart = apart_db(&cut(&after_jump, part.clone()), &cut(&fresh, part));
        let label = format!("{:?}, {}, to sample {from}", session.format, case.name);
        assert!(apart <= SAME_DB, "{label}: {apart} dB");
    }
}

#[test]
fn other_rates_have_the_same_offset_at_the_same_place_in_the_song() {
    let seconds = 5.6;
    for format in Format::BOTH {
        for (name, song) in [("steady", STEADY), ("ramp", RAMP)] {
            for case in &CASES {
                let mut worst = 0.0f64;
                let mut want = Vec::new();
                for rate in [48_000.0, 44_100.0, 96_000.0, 192_000.0] {
                    let session = DecksSession {
                        rate,
                        ..DecksSession::of(format)
                    };
                    let offsets = case.offsets_s(session, song, seconds, 64);
                    // Every 10 ms: a whole sample at each of the rates.
                    let instants =
                        (5..(seconds * 100.0) as usize - 1).map(|n| n * (rate / 100.0) as usize);
                    let got: Vec<f64> = instants.map(|at| offsets[at]).collect();
                    if want.is_empty() {
                        want = got;
                        continue;
                    }
                    let apart = want.iter().zip(&got).map(|(a, b)| (a - b).abs());
                    worst = apart.fold(worst, f64::max);
                }
                println!("{format:?}, {name}, {}: {:.4} µs", case.name, worst * 1e6);
                assert!(
                    worst <= 1e-6,
                    "{format:?}, {name}, {}: {worst} s",
                    case.name
                );
            }
        }
    }
}

/// Places where the moving deck passes the fixed one, samples.
fn crossings(offsets: &[f64]) -> Vec<f64> {
    let pairs = offsets.windows(2).enumerate();
    let crossed = pairs.filter(|(_, pair)| (pair[0] < 0.0) != (pair[1] < 0.0));
    crossed
        .map(|(n, pair)| n as f64 + pair[0] / (pair[0] - pair[1]))
        .collect()
}

#[test]
fn the_null_point_lands_on_the_drawn_bar_line() {
    // A case, and the beats on which the decks meet between 0.5 and 4.9 seconds.
    let pass = Case {
        name: "pass of two bars",
        settings: &[("motion", 2.0), ("length", 5.0), ("curve", 2.0)],
        // Cued inside bar 2, it runs through bars 3 and 4.
        line: Some(("start", |seconds| if seconds > 1.4 { 1.0 } else { 0.0 })),
    };
    let cycle = Case {
        name: "cycle of a bar",
        settings: &[("motion", 1.0), ("length", 4.0), ("range", 12.0)],
        line: None,
    };
    for format in Format::BOTH {
        let session = DecksSession::of(format);
        for (name, song) in [("steady", STEADY), ("ramp", RAMP)] {
            for (case, first, apart) in [(&pass, 12.0, 1e9), (&cycle, 2.0, 2.0)] {
                for length in [64, 512, 1024, 4096] {
                    let offsets = case.offsets_s(session, song, 4.9, length);
                    let crossed: Vec<f64> = crossings(&offsets)
                        .into_iter()
                        .filter(|at| *at > 0.45 * session.rate)
                        .collect();
                    let line =
                        |n: usize| song.tempo.seconds(first + n as f64 * apart) * session.rate;
                    let off = crossed
                        .iter()
                        .enumerate()
                        .map(|(n, at)| (at - line(n)).abs());
                    let worst = off.fold(0.0, f64::max);
                    let label = format!("{format:?}, {name}, {}, blocks of {length}", case.name);
                    println!(
                        "{label}: {} null points, worst off by {worst:.4} samples",
                        crossed.len()
                    );
                    assert!(!crossed.is_empty(), "{label}");
                    assert!(worst <= 1.0, "{label}: {worst} samples");
                }
            }
        }
    }
}
