//! Changes while the tape runs: no click from its own controls, nor when it comes into the path or leaves it.

use super::session::{MODES, Setting, open};
use crate::decks::instance::{DecksInstance, DecksSession, Format};
use plumbline_dsp::meters::click::largest_step;
use plumbline_dsp::print::latency;
use std::f64::consts::TAU;
use std::thread::sleep;
use std::time::Duration;

/// Samples a second.
const RATE: f64 = 48_000.0;
/// Peak of the tone: 8 dB below the reference, where the print is the tone itself.
const PEAK: f64 = 0.05;
/// Largest step from sample to sample, as a multiple of the larger one of those before and after the change, which the
/// heads' contour sets apart.
const LARGEST: f64 = 1.1;
/// Samples after which everything has settled, and that are left behind a change.
const SETTLED: usize = 5_000;

/// A tone that goes on from block to block.
struct Tone {
    hz: f64,
    played: usize,
}

impl Tone {
    fn next(&mut self, count: usize) -> Vec<f32> {
        let first = self.played;
        self.played += count;
        let turns = |n: usize| (self.hz / RATE * (first + n) as f64).fract();
        (0..count)
            .map(|n| (PEAK * (TAU * turns(n)).sin()) as f32)
            .collect()
    }

    fn own_step(&self) -> f64 {
        PEAK * TAU * self.hz / RATE
    }
}

/// Largest step of a render as a multiple of those at its settled beginning and its end.
fn step_ratio(out: &[f32]) -> f64 {
    let ends = [&out[SETTLED..2 * SETTLED], &out[out.len() - SETTLED..]].map(largest_step);
    largest_step(&out[SETTLED..]) / ends[0].max(ends[1])
}

/// Plays so many seconds more in blocks of 64; the first channel of what comes out.
fn play(instance: &mut DecksInstance, tone: &mut Tone, seconds: f64) -> Vec<f32> {
    let tone = tone.next((seconds * RATE) as usize / 64 * 64);
    let [first, _] = instance.run(&[tone.clone(), tone], || 64);
    first
}

#[test]
fn none_of_its_controls_makes_a_click() {
    let changes: [(&str, &[Setting]); 8] = [
        ("slower", &[("tape_speed", 0.0)]),
        ("faster", &[("tape_speed", 2.0)]),
        ("the other curve", &[("tape_eq", 1.0)]),
        ("hotter", &[("tape_level", 12.0)]),
        ("colder", &[("tape_level", -12.0)]),
        ("another fluxivity", &[("tape_fluxivity", 1000.0)]),
        ("another reference", &[("tape_reference", -24.0)]),
        (
            "all at once",
            &[("tape_speed", 2.0), ("tape_eq", 1.0), ("tape_level", 9.0)],
        ),
    ];
    for format in Format::BOTH {
        for (name, change) in changes {
            let mut worst = 0.0f64;
            for hz in [97.0, 997.0] {
                let session = DecksSession::of(format);
                let mut instance = open(session, 0.0, 1.0, &[("tape_level", -6.0)]);
                let mut tone = Tone { hz, played: 0 };
                let mut out = play(&mut instance, &mut tone, 0.3);
                change.iter().for_each(|(id, to)| instance.set(id, *to));
                out.extend(play(&mut instance, &mut tone, 0.4));
                let ratio = step_ratio(&out);
                worst = worst.max(ratio);
                assert!(ratio <= LARGEST, "{format:?}, {name}, {hz} Hz: {ratio}");
            }
            println!("{format:?}, {name}: {worst:.3} times the steady step");
        }
    }
}

/// Switches the print and plays until the new latency has been told: the new path is built beside the audio thread.
fn switch(instance: &mut DecksInstance, tone: &mut Tone, print: f64, due: usize) -> Vec<f32> {
    instance.set("print", print);
    let mut out = Vec::new();
    for _ in 0..500 {
        out.extend(play(instance, tone, 0.004));
        if instance.latency() == due {
            break;
        }
        sleep(Duration::from_millis(4));
    }
    assert_eq!(instance.latency(), due);
    out
}

#[test]
fn it_comes_and_goes_without_a_click_under_a_host_that_does_not_restart() {
    for (mode_name, mode) in MODES {
        for hz in [97.0, 997.0] {
            let mut instance = open(DecksSession::of(Format::Vst3), mode, 0.0, &[]);
            let without = instance.latency();
            let with = without + latency(RATE);
            let mut tone = Tone { hz, played: 0 };
            let mut out = play(&mut instance, &mut tone, 0.2);
            for (print, due) in [(1.0, with), (0.0, without)] {
                out.extend(switch(&mut instance, &mut tone, print, due));
                out.extend(play(&mut instance, &mut tone, 0.3));
                let sounding = largest_step(&out[out.len() - SETTLED..]);
                assert!(sounding > 0.5 * tone.own_step(), "{mode_name}: silent");
            }
            let ratio = step_ratio(&out);
            println!("{mode_name}, {hz} Hz: {ratio:.3} times the steady step");
            assert!(ratio <= LARGEST, "{mode_name}, {hz} Hz: {ratio}");
        }
    }
}

#[test]
fn after_a_restart_for_it_there_is_what_goes_in_and_nothing_else() {
    for (mode_name, mode) in MODES {
        let mut instance = open(DecksSession::of(Format::Clap), mode, 0.0, &[]);
        let without = instance.latency();
        let mut tone = Tone {
            hz: 97.0,
            played: 0,
        };
        for (print, due) in [(1.0, without + latency(RATE)), (0.0, without)] {
            play(&mut instance, &mut tone, 0.1);
            instance.set("print", print);
            play(&mut instance, &mut tone, 0.1);
            assert_ne!(instance.latency(), due, "the latency stays while active");
            instance.restart();
            assert_eq!(instance.latency(), due, "{mode_name}");
            // From the tone's zero on.
            tone.played = 0;
            let out = play(&mut instance, &mut tone, 0.3);
            let steady = largest_step(&out[out.len() - SETTLED..]).max(tone.own_step());
            let ratio = largest_step(&out) / steady;
            assert!(ratio <= LARGEST, "{mode_name}, print {print}: {ratio}");
        }
    }
}
