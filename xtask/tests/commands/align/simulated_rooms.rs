//! Overheads and a kick in a simulated room: what they record, and what the command makes of it.

use plumbline_hosting::{SimulatedDrum, SimulatedKit, SimulatedMicrophone, Way};
use serde_json::Value;

use super::align;
use crate::command::json;
use crate::files::{Folder, RATE, read};

/// Rooms of the usual run, and of the whole table.
pub const FEW: u64 = 6;
pub const ALL: u64 = 30;
/// Snare and kick in turn.
const STROKES: usize = 16;
/// Level of the kick in the print, dB.
const KICK_DB: &str = "-6";

/// A session whose truth is known, samples.
pub struct Room {
    kit: SimulatedKit,
    pub overheads: [Vec<f32>; 2],
    kick: Vec<f32>,
    /// Second minus first, of the snare.
    pub snare_gap: f64,
    /// Kick microphone to first and to second, of the kick.
    pub kick_ways: [f64; 2],
    /// From each drum to the first.
    to_first: [f64; 2],
}

/// What the command answers and writes.
pub struct Printed {
    pub answer: Value,
    /// The two tracks with the kick in them.
    pub print: Vec<Vec<f32>>,
    /// The corrected pair without it.
    pub pair: Vec<Vec<f32>>,
}

impl Room {
    pub fn new(seed: u64) -> Self {
        let mut random = fastrand::Rng::with_seed(seed);
        let mut between = |from: f64, to: f64| from + (to - from) * random.f64();
        let kit = SimulatedKit {
            seed,
            strokes: STROKES,
        };
        let [snare_gap, kick_gap] = [between(-45.0, 45.0), between(-45.0, 45.0)];
        let kick_to_first = between(150.0, 260.0);
        let snare_to_first = between(120.0, 180.0);
        let mut hear = |ways: [f64; 2], gains: [f32; 2], floor: u64| {
            let mut with_reflection = |drum: usize| {
                let direct = Way {
                    samples: ways[drum],
                    gain: gains[drum],
                };
                let reflected = Way {
                    samples: ways[drum] + between(90.0, 300.0),
                    gain: 0.25 * gains[drum],
                };
                vec![direct, reflected]
            };
            let [snare, kick] = [0, 1].map(&mut with_reflection);
            let floor = 31 * seed + floor;
            kit.heard(&SimulatedMicrophone { snare, kick, floor })
        };
        let first = hear([snare_to_first, kick_to_first], [0.3, 0.2], 1);
        let second_ways = [snare_to_first + snare_gap, kick_to_first + kick_gap];
        let sign = if seed.is_multiple_of(2) { 1.0 } else { -1.0 };
        let second = hear(second_ways, [0.27 * sign, 0.22 * sign], 2);
        let kick = hear([170.0, 10.0], [0.02, 0.7], 3);
        Self {
            kit,
            overheads: [first, second],
            kick,
            snare_gap,
            kick_ways: [kick_to_first - 10.0, kick_to_first + kick_gap - 10.0],
            to_first: [snare_to_first, kick_to_first],
        }
    }

    /// Where a drum's strokes arrive in the first as recorded, samples.
    pub fn arrivals(&self, drum: SimulatedDrum) -> impl Iterator<Item = usize> + use<> {
        let way = self.to_first[drum as usize] as usize;
        self.kit.struck(drum).map(move |at| at + way)
    }

    /// Runs the command on its files.
    pub fn printed(&self, more: &[&str]) -> Printed {
        let folder = Folder::new();
        let pair = folder.wav("pair.wav", RATE, &self.overheads);
        let kick = folder.wav("kick.wav", RATE, &[&self.kick]);
        let out = folder.path("out");
        let mut arguments = vec![
            pair.to_str().unwrap(),
            "--kick",
            kick.to_str().unwrap(),
            "--spot-in-print",
            KICK_DB,
            "--json",
            "--out",
            out.to_str().unwrap(),
        ];
        arguments.extend(more);
        let answer = json(&align(&arguments));
        let aligned = read(&out.join("kick-aligned.wav"));
        assert_eq!(
            aligned[0].len(),
            self.kick.len(),
            "the close microphone is as long as the take"
        );
        Printed {
            answer,
            print: read(&out.join("pair-print.wav")),
            pair: read(&out.join("pair-aligned.wav")),
        }
    }
}
