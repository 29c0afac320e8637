//! A session that is left running: memory, open files, threads, cost, and the moving deck's place, over hours of audio.
//!
//! `PLUMBLINE_SOAK_MINUTES` is the audio's length (1 without it); `PLUMBLINE_SOAK_PACE=real-time` plays it no faster than it
//! sounds. Called by `cargo xtask soak` and, short, by every run of the tests.

use crate::alone::alone;
use crate::library::release;
use crate::own_process::memory_kib;
use crate::simulated_take::{FARTHER, RATE, SimulatedTake};
use plumbline_hosting::{Instance, Layout, Session, Song, Tempo};
use std::fs;
use std::ops::Range;
use std::path::Path;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Samples of a block.
const BLOCK: usize = 512;
/// Blocks in one round, about a minute.
const ROUND: usize = 60 * RATE / BLOCK;
/// Blocks that are timed together, about a second.
const TIMED: usize = RATE / BLOCK;
/// Most memory that may be added after the first rounds, KiB: pages that the allocator keeps. Common practice, no source.
const GROWTH_KIB: usize = 1024;
/// Rounds in which everything that is made once has been made; of few rounds half, so that there is something after them.
const FIRST: usize = 10;

/// What is turned in each round, one after the other.
const TURNS: &[&[(&str, f64)]] = &[
    &[("measure", 1.0), ("bypass", 0.0)],
    &[("nudge_first", 0.2), ("output", -3.0), ("blend", 40.0)],
    &[("measure", 0.0), ("wow", 0.05), ("flutter", 0.05)],
    &[("bypass", 1.0), ("width", -50.0)],
    &[("bypass", 0.0), ("range", 4.0), ("nudge_first", 0.0)],
];

/// One round, when it is over.
#[derive(Clone, Copy, Debug)]
struct Round {
    memory_kib: usize,
    files: usize,
    threads: usize,
    /// Of a core, of the quickest second.
    cost: f64,
}

fn count(folder: &str) -> usize {
    fs::read_dir(folder).map_or(0, Iterator::count)
}

/// A session that goes on, its song and its strokes.
struct Soak {
    instance: Instance,
    take: [Vec<f32>; 3],
    /// Blocks so far.
    played: usize,
    paced: bool,
    begin: Instant,
}

fn session() -> Session {
    Session {
        layout: Layout::StereoSpotMono,
        max_block: BLOCK as u32,
        ..Session::default()
    }
}

fn song(seconds: f64) -> Song {
    Song {
        seconds,
        tempo: Tempo::steady(120.0),
        beats_per_bar: 4,
    }
}

impl Soak {
    fn new(paced: bool) -> Self {
        let mut instance = release().open(&session()).unwrap();
        for (id, value) in [("mode", 1.0), ("motion", 1.0), ("sync", 0.0), ("rate", 0.5)] {
            instance.set(id, value).unwrap();
        }
        // Some turns leave something on: every round of one turn has the same on.
        for (id, value) in TURNS.iter().copied().flatten() {
            instance.set(id, *value).unwrap();
        }
        instance.restart().unwrap();
        instance.play_from(Some(song(0.0)));
        let take = SimulatedTake {
            strokes: 10,
            ..FARTHER
        };
        Self {
            instance,
            take: take.channels(),
            played: 0,
            paced,
            begin: Instant::now(),
        }
    }

    /// Where the song is, seconds.
    fn seconds(&self) -> f64 {
        (self.played * BLOCK) as f64 / RATE as f64
    }

    fn block(&self, number: usize) -> [Vec<f32>; 3] {
        let length = self.take[0].len();
        let at = |i| (number * BLOCK + i) % length;
        self.take
            .each_ref()
            .map(|track| (0..BLOCK).map(|i| track[at(i)]).collect())
    }

    fn round(&mut self, number: usize) -> Round {
        for (id, value) in TURNS[number % TURNS.len()] {
            self.instance.set(id, *value).unwrap();
        }
        // A host's own song does not drift either.
        self.instance.play_from(Some(song(self.seconds())));
        let mut cost = f64::INFINITY;
        for _ in 0..ROUND / TIMED {
            let blocks: Vec<_> = (0..TIMED).map(|n| self.block(self.played + n)).collect();
            let mut spent = Duration::ZERO;
            for [mut first, mut second, spot] in blocks {
                let main = &mut [&mut first[..], &mut second[..]];
                let begin = Instant::now();
                self.instance.process(main, &[&spot]).unwrap();
                spent += begin.elapsed();
                assert!(first.iter().chain(&second).all(|x| x.is_finite()));
                self.played += 1;
                if self.paced {
                    let due = Duration::from_secs_f64(self.seconds());
                    sleep(due.saturating_sub(self.begin.elapsed()));
                }
            }
            cost = cost.min(spent.as_secs_f64() * RATE as f64 / (TIMED * BLOCK) as f64);
        }
        let state = self.instance.save().unwrap();
        self.instance.load(&state).unwrap();
        Round {
            memory_kib: memory_kib(),
            files: count("/proc/self/fd"),
            threads: count("/proc/self/task"),
            cost,
        }
    }

    /// Farthest that the output is from that of an instance which starts here, after a second.
    fn drift(&mut self) -> f32 {
        for (id, value) in [("measure", 0.0), ("bypass", 0.0)] {
            self.instance.set(id, value).unwrap();
        }
        let [mut first, mut second, spot] = self.block(self.played);
        let main = &mut [&mut first[..], &mut second[..]];
        self.instance.process(main, &[&spot]).unwrap();
        self.played += 1;
        let state = self.instance.save().unwrap();
        let mut fresh = release().open(&session()).unwrap();
        fresh.load(&state).unwrap();
        fresh.restart().unwrap();
        for instance in [&mut self.instance, &mut fresh] {
            instance.play_from(Some(song((self.played * BLOCK) as f64 / RATE as f64)));
        }
        let mut farthest = 0.0_f32;
        for n in 0..3 * TIMED {
            let [first, second, spot] = self.block(self.played);
            let mut old = [first.clone(), second.clone()];
            let mut new = [first, second];
            for (instance, [first, second]) in
                [(&mut self.instance, &mut old), (&mut fresh, &mut new)]
            {
                instance.process(&mut [first, second], &[&spot]).unwrap();
            }
            self.played += 1;
            let pairs = old.iter().flatten().zip(new.iter().flatten());
            let apart = pairs.fold(0.0_f32, |most, (a, b)| most.max((a - b).abs()));
            if n >= TIMED {
                farthest = farthest.max(apart);
            }
        }
        farthest
    }
}

/// What was found, for the outside checks' page: a line each, name and number.
fn write_figures(pace: &str, figures: &[(&str, f64)]) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../target/measured");
    let line = |(name, number): &(&str, f64)| format!("\"{name}\",{number}\n");
    let text: String = figures.iter().map(line).collect();
    fs::create_dir_all(&folder).expect("a folder");
    fs::write(folder.join(format!("soak-{pace}.csv")), text).expect("the figures");
}

#[test]
fn nothing_grows_and_nothing_drifts() {
    alone("soak::nothing_grows_and_nothing_drifts", || {
        let minutes = std::env::var("PLUMBLINE_SOAK_MINUTES").ok();
        let minutes: usize = minutes.map_or(1, |text| text.parse().expect("minutes"));
        let paced = std::env::var("PLUMBLINE_SOAK_PACE").is_ok_and(|pace| pace == "real-time");
        let mut soak = Soak::new(paced);
        let rounds: Vec<Round> = (0..minutes).map(|number| soak.round(number)).collect();
        let early = rounds[FIRST.min(minutes.div_ceil(2)) - 1];
        let last = rounds[minutes - 1];
        for (when, round) in [("early", early), ("last", last)] {
            println!("soak, {when}: {round:?}");
        }
        let drift = soak.drift();
        let took_s = soak.begin.elapsed().as_secs_f64();
        println!("soak, {minutes} minutes in {took_s:.0} s, drift {drift:e}");
        assert!(
            last.memory_kib <= early.memory_kib + GROWTH_KIB,
            "{early:?} {last:?}"
        );
        assert_eq!((last.files, last.threads), (early.files, early.threads));
        assert!(drift < 1e-6, "the deck is elsewhere: {drift}");
        let half = minutes / 2;
        // Of each turn the quickest round: turns cost differently.
        let cost = |numbers: Range<usize>| -> f64 {
            let quickest = |turn| {
                let mine = numbers.clone().filter(|n| n % TURNS.len() == turn);
                mine.map(|n| rounds[n].cost).fold(f64::INFINITY, f64::min)
            };
            (0..TURNS.len()).map(quickest).sum()
        };
        if half >= TURNS.len() {
            let ratio = cost(half..minutes) / cost(0..half);
            let added = |of: fn(&Round) -> usize| of(&last) as f64 - of(&early) as f64;
            write_figures(
                if paced { "real-time" } else { "none" },
                &[
                    ("minutes of audio", minutes as f64),
                    ("minutes that it took", took_s / 60.0),
                    ("memory added, KiB", added(|round| round.memory_kib)),
                    ("open files added", added(|round| round.files)),
                    ("threads added", added(|round| round.threads)),
                    ("cost, second half against first", ratio),
                    ("drift of the deck, full scale", drift.into()),
                ],
            );
            println!("soak, cost of the second half: {ratio:.2} times that of the first");
            // At the sound's pace each block finds cold caches, and what else the machine does: printed, not judged.
            assert!(paced || ratio < 1.5, "{ratio}");
        }
    });
}
