//! The host's place in the song, later in the block.

use vst3::Steinberg::Vst::ProcessContext;
use vst3::Steinberg::Vst::ProcessContext_::StatesAndFlags_::{
    kBarPositionValid, kPlaying, kProjectTimeMusicValid, kTempoValid, kTimeSigValid,
};

/// The place `frames` after `context`, as far as the host has said how fast the song runs.
pub(super) fn later(context: &ProcessContext, frames: usize, sample_rate: f64) -> ProcessContext {
    let mut later = *context;
    let state = context.state;
    if frames == 0 || !says(state, kPlaying) {
        return later;
    }
    let samples = frames as i64;
    later.projectTimeSamples = context.projectTimeSamples.saturating_add(samples);
    later.continousTimeSamples = context.continousTimeSamples.saturating_add(samples);
    if says(state, kProjectTimeMusicValid | kTempoValid) {
        later.projectTimeMusic += frames as f64 / sample_rate * context.tempo / 60.0;
        if says(state, kBarPositionValid | kTimeSigValid) && context.timeSigDenominator > 0 {
            let bar =
                4.0 * f64::from(context.timeSigNumerator) / f64::from(context.timeSigDenominator);
            let bars = ((later.projectTimeMusic - context.barPositionMusic) / bar).floor();
            if bar > 0.0 && bars > 0.0 {
                later.barPositionMusic += bars * bar;
            }
        }
    }
    later
}

/// True where all of these flags are set. Their type is the one that the system's C compiler gives an enumeration.
fn says(state: u32, flags: impl TryInto<u32>) -> bool {
    flags.try_into().is_ok_and(|flags| state & flags == flags)
}
