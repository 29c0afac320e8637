//! One drum stays one drum, however often it is struck and however unlike its attacks are.

use plumbline_dsp::channels::Inputs;

use crate::noise::Noise;
use crate::scene::{Session, delay};
use crate::support::{assert_near, write_csv};

const RATE: f64 = 48_000.0;
const GAP: f64 = 5.3;

/// A drum's body of 190 Hz, and bursts of noise above 200 Hz as loud as it: wires that sound different with every stroke. Both fall
/// away within 20 ms; the body, struck harder or softer, by up to 6 dB.
fn bursts(strokes: usize, seed: u64) -> Session {
    let mut noise = Noise::new(seed);
    let spacing = (0.35 * RATE) as usize;
    let mut dry = vec![0.0f32; (strokes + 2) * spacing];
    let slope = |hz: f64| 1.0 - (-std::f64::consts::TAU * hz / RATE).exp();
    for stroke in 0..strokes {
        let level = noise.between(0.5, 1.0);
        let (mut low, mut lower, mut dull) = (0.0, 0.0, 0.0);
        for n in 0..(0.15 * RATE) as usize {
            let white = noise.normal() * (-(n as f64) / (0.02 * RATE)).exp();
            low += slope(200.0) * (white - low);
            lower += slope(200.0) * (white - low - lower);
            dull += slope(8_000.0) * (white - low - lower - dull);
            let t = n as f64 / RATE;
            let body = level * (std::f64::consts::TAU * 190.0 * t).sin() * (-t / 0.02).exp();
            dry[(stroke + 1) * spacing + n] = (0.1 * dull + 0.05 * body) as f32;
        }
    }
    let mut session = Session::floor(RATE, dry.len(), 1e-5, &mut noise);
    for (channel, arrival) in session.channels.iter_mut().zip([120.0, 120.0 + GAP, 0.0]) {
        let heard = delay(&dry, arrival);
        channel.iter_mut().zip(heard).for_each(|(x, y)| *x += y);
    }
    session
}

/// Nine strokes of ten and more stay in the drum that is aligned, also after the first ones had to go; all are counted.
#[test]
fn one_drum_is_one_drum() {
    let mut rows = Vec::new();
    for (strokes, seeds) in [(10, 5u32), (20, 5), (60, 5), (200, 1)] {
        for seed in 1..=seeds {
            let analyser = bursts(strokes, u64::from(seed)).analysed(Inputs::PairAndSpot);
            let m = analyser.measurement();
            let counted: u32 = m.drums().iter().map(|drum| drum.hits).sum();
            let found = m.gap.expect("a gap").attack_s * RATE;
            println!(
                "{strokes} strokes, seed {seed}: {} in the drum of {} drums, {counted} counted, gap {found:.3}",
                m.hits, m.drum_count
            );
            assert_eq!(counted as usize, strokes, "seed {seed}");
            assert!(m.hits as usize * 10 >= strokes * 9, "seed {seed}");
            assert_near("gap", found, GAP, 0.1);
            rows.push(vec![
                strokes as f64,
                f64::from(seed),
                f64::from(m.hits),
                found,
            ]);
        }
    }
    write_csv("drums", "strokes,seed,own,gap", &rows);
}
