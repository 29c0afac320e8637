//! What comes in from the host, made safe: a mono spot, and nothing that is not audio.

use std::ops::Range;

/// Beyond this (+ 200 dB) it is not audio, and sums of it could overflow: read as silence, like NaN and infinity.
const LOUDEST: f32 = 1e10;

/// One channel of the spot: as it is, half the sum of two, or silence.
pub fn mix_spot(to: &mut [f32], spot: &[&mut [f32]], part: Range<usize>) {
    match spot {
        [] => to.fill(0.0),
        [mono] => to.copy_from_slice(&mono[part]),
        [left, right, ..] => {
            let pairs = left[part.clone()].iter().zip(&right[part]);
            for (to, (left, right)) in to.iter_mut().zip(pairs) {
                *to = 0.5 * left + 0.5 * right;
            }
        }
    }
    silence_non_audio(to);
}

/// Leaves audio as it is and silences what is none.
pub fn silence_non_audio(channel: &mut [f32]) {
    for sample in channel {
        let audible = sample.abs() < LOUDEST;
        *sample = if audible { *sample } else { 0.0 };
    }
}
