//! The kit of the hosted tests: its two overheads and a close microphone at each drum.

use plumbline_hosting::{Drum, SimulatedKit, SimulatedMicrophone, Way};

/// Samples a second.
pub const RATE: usize = SimulatedKit::RATE;
/// The snare's gap, second minus first, samples.
pub const SNARE_GAP: f64 = 24.0;
/// The kick's.
pub const KICK_GAP: f64 = -12.0;
/// Strokes, snare and kick in turn.
const STROKES: usize = 16;

/// A take whose drums are farther from the second overhead than from the first by these samples: first, second, and the close
/// microphones of kick and snare.
pub fn kit_with(seed: u64, [snare_gap, kick_gap]: [f64; 2]) -> [Vec<f32>; 4] {
    let kit = SimulatedKit {
        seed,
        strokes: STROKES,
    };
    let ways = [
        [(250.0, 0.3), (280.0, 0.3)],
        [(250.0 + snare_gap, 0.3), (280.0 + kick_gap, 0.3)],
        [(150.0, 0.02), (10.0, 0.7)],
        [(10.0, 0.7), (150.0, 0.02)],
    ];
    let mut floor = 90 + 100 * seed;
    ways.map(|ways| {
        floor += 1;
        let [snare, kick] = ways.map(|(samples, gain)| vec![Way { samples, gain }]);
        kit.heard(&SimulatedMicrophone { snare, kick, floor })
    })
}

/// So many strokes of the kick alone, the microphones as in the usual take.
#[cfg(target_os = "linux")]
pub fn kicks(strokes: usize) -> [Vec<f32>; 4] {
    let kit = SimulatedKit {
        seed: 40 + strokes as u64,
        strokes: 2 * strokes,
    };
    let mut floor = 60;
    [
        (280.0, 0.3),
        (280.0 + KICK_GAP, 0.3),
        (10.0, 0.7),
        (150.0, 0.02),
    ]
    .map(|(samples, gain)| {
        floor += 1;
        let kick = vec![Way { samples, gain }];
        let snare = Vec::new();
        kit.heard(&SimulatedMicrophone { snare, kick, floor })
    })
}

/// The usual take.
pub fn kit() -> [Vec<f32>; 4] {
    kit_with(0, [SNARE_GAP, KICK_GAP])
}

/// What was found, samples.
pub fn gap_samples(drum: &Drum) -> f64 {
    drum.gap
        .as_ref()
        .map_or(f64::NAN, |gap| gap.attack_s * RATE as f64)
}
