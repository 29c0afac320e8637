//! Match = Kit on what is written: the mono sum of the files against the fullest that any further delay would make.

use plumbline_dsp::math::biquad::Biquad;
use plumbline_hosting::{SimulatedDrum, delayed};

use super::simulated_rooms::{ALL, FEW, Room};
use crate::command::number;
use crate::files::RATE;

/// Further delays of the second track: every eighth of a sample within 4.5 ms to both sides.
const STEPS: isize = 8;
const REACH: isize = 216;
/// A drum's body: from 2 ms before its front in the first to 40 ms after it, and the band in which a sum is full or thin.
const BEFORE: usize = 96;
const BODY: usize = 1_920;
const BAND_HZ: [f64; 2] = [100.0, 6_000.0];
/// The sum stays under the fullest by no more, dB.
const BELOW_DB: f64 = 0.1;

/// Where each drum's bodies begin in the written files, and how much the drum counts: the one that is aligned twice.
struct Bodies(Vec<(usize, f64)>);

impl Bodies {
    /// The first is so many samples later than recorded.
    fn new(room: &Room, late: usize) -> Self {
        let of = |drum, weight| {
            let arrivals = room.arrivals(drum);
            arrivals.map(move |at| (at + late - BEFORE, weight))
        };
        let snare = of(SimulatedDrum::Snare, 2.0);
        Self(snare.chain(of(SimulatedDrum::Kick, 1.0)).collect())
    }

    /// Energy of the mono sum over them, the second track delayed by a number of steps.
    fn energy(&self, first: &[f32], second: &[Vec<f32>], step: isize) -> f64 {
        let second = &second[step.rem_euclid(STEPS) as usize];
        let later = step.div_euclid(STEPS);
        let body = |(at, weight): &(usize, f64)| {
            let from = at.checked_add_signed(-later).expect("within the take");
            let first = &first[*at..at + BEFORE + BODY];
            let second = &second[from..from + BEFORE + BODY];
            let sums = first.iter().zip(second);
            let energy: f32 = sums.map(|(x, y)| (x + y).powi(2)).sum();
            weight * f64::from(energy)
        };
        self.0.iter().map(body).sum()
    }
}

fn in_band(track: &[f32]) -> Vec<f32> {
    let rate = f64::from(RATE);
    let mut high = Biquad::high_pass(BAND_HZ[0], rate);
    let mut low = Biquad::low_pass(BAND_HZ[1], rate);
    let sample = |x: &f32| low.next(high.next(f64::from(*x))) as f32;
    track.iter().map(sample).collect()
}

/// How far the sum of two tracks stays under the fullest, dB, and the further delay that would make it so, samples.
fn below_the_fullest(bodies: &Bodies, tracks: &[Vec<f32>]) -> (f64, f64) {
    let [first, second] = [&tracks[0], &tracks[1]].map(|track| in_band(track));
    let parts = 0..STEPS;
    let second: Vec<Vec<f32>> = parts
        .map(|part| delayed(&second, part as f64 / STEPS as f64))
        .collect();
    let steps = -REACH * STEPS..=REACH * STEPS;
    let energies = steps.map(|step| (bodies.energy(&first, &second, step), step));
    let (most, step) = energies.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    let here = bodies.energy(&first, &second, 0);
    (10.0 * (most / here).log10(), step as f64 / STEPS as f64)
}

#[test]
fn the_print_of_the_whole_kit_is_as_full_as_brute_force_makes_it() {
    assert_full(FEW);
}

#[test]
#[ignore = "whole table, 30 rooms: cargo xtask test --full"]
fn the_print_of_the_whole_kit_is_as_full_in_every_room() {
    assert_full(ALL);
}

fn assert_full(rooms: u64) {
    let mut wrong = Vec::new();
    let mut thinnest = 0.0_f64;
    for seed in 0..rooms {
        let room = Room::new(seed);
        let printed = room.printed(&["--match", "kit"]);
        assert_eq!(printed.answer["drum"], "snare");
        let recorded = below_the_fullest(&Bodies::new(&room, 0), &room.overheads).0;
        thinnest = thinnest.max(recorded);
        let late = number(&printed.answer, "first_delay_samples").round() as usize;
        let bodies = Bodies::new(&room, late);
        let [pair, print] =
            [&printed.pair, &printed.print].map(|tracks| below_the_fullest(&bodies, tracks));
        let line = format!(
            "room {seed}: as recorded {recorded:.2} dB below the fullest, the pair {:.3} dB ({:+.3} samples away), the print {:.3} dB ({:+.3})",
            pair.0, pair.1, print.0, print.1
        );
        println!("{line}");
        if pair.0 > BELOW_DB || print.0 > BELOW_DB {
            wrong.push(line);
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    // A pair that nobody corrects shows that the sum can tell.
    assert!(thinnest > 1.0, "as recorded {thinnest} dB at most");
}
