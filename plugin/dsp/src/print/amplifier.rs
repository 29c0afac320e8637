//! The recording or the playback amplifier of a machine at one sample rate.
//!
//! Shelves for the long waves, a short linear-phase filter for the short ones.

use super::linear_phase::linear_phase;
use super::machine::{Machine, Recording};
use super::one_poles::{OnePoles, Pair};
use super::shelves::shelves;

/// Half the linear-phase filter, samples at 48 kHz and below; longer above, as long in time.
const HALF: f64 = 12.0;
/// The most of them, at the highest rate.
pub const MOST_HALF: usize = 192;
/// The band that is held to a few hundredths of a decibel: 20 kHz or this part of the rate.
const TOP_HZ: f64 = 20_000.0;
const TOP_PART: f64 = 0.4535;
/// Up to here the shelves follow; above, the linear-phase filter does the rest, hertz.
const SHELVES_TO_HZ: f64 = 4_000.0;

/// Delay of one amplifier in samples.
pub fn half_taps(sample_rate: f64) -> usize {
    (HALF * sample_rate / 48_000.0).ceil().max(HALF) as usize
}

/// One amplifier.
#[derive(Clone, Debug)]
pub struct Amplifier {
    pub shelves: OnePoles,
    /// Odd in number, symmetric.
    pub taps: Vec<f32>,
}

/// Both amplifiers of a machine: recording, playback.
pub fn amplifiers(machine: &Machine, sample_rate: f64) -> [Amplifier; 2] {
    let top_hz = TOP_HZ.min(TOP_PART * sample_rate);
    let treble = |hz: f64| machine.treble_amplitude(hz);
    let pairs = shelves(
        |hz| machine.loss_amplitude(hz),
        machine.time_constants.treble_s,
        SHELVES_TO_HZ.min(top_hz),
        sample_rate,
    );
    let shelved = |hz: f64| -> f64 {
        let turns = hz / sample_rate;
        pairs.iter().map(|pair| pair.amplitude(turns)).product()
    };
    let half = half_taps(sample_rate);
    let taps = |wanted: &dyn Fn(f64) -> f64| linear_phase(wanted, half, top_hz, sample_rate);
    let corner =
        |bass: super::machine::Bass| Pair::level_above(bass.from_hz, bass.to_hz, sample_rate);
    let recording = match machine.recording {
        Recording::LinedUp => Amplifier {
            shelves: one_poles(
                pairs.iter().copied().map(Pair::inverse),
                machine.recording_bass().map(corner),
            ),
            taps: taps(&|hz| shelved(hz) / treble(hz)),
        },
        Recording::Straight => wire(half),
    };
    let playback = Amplifier {
        shelves: one_poles(pairs.iter().copied(), machine.playback_bass().map(corner)),
        taps: taps(&|hz| treble(hz) / shelved(hz)),
    };
    [recording, playback]
}

fn one_poles(shelves: impl Iterator<Item = Pair>, bass: impl Iterator<Item = Pair>) -> OnePoles {
    let pairs: Vec<_> = shelves.chain(bass).collect();
    OnePoles::new(&pairs)
}

/// As late as the others, and nothing else.
fn wire(half: usize) -> Amplifier {
    let mut taps = vec![0.0; 2 * half + 1];
    taps[half] = 1.0;
    Amplifier {
        shelves: OnePoles::new(&[]),
        taps,
    }
}
