//! What the audio thread applies right now, one atomic a number.

use atomic_float::AtomicF64;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64};

/// What the audio thread applies right now. Writer: the audio thread. Readers: the editor, whoever saves the session.
#[derive(Debug, Default)]
pub struct Telemetry {
    /// Shift of the first channel that is applied, seconds.
    pub first_s: AtomicF64,
    /// Shift of the second channel that is applied, seconds.
    pub second_s: AtomicF64,
    /// The polarity of the second channel (of a mono main: of the channel) is reversed.
    pub flip: AtomicBool,
    /// How much more reach the correction needs, seconds.
    pub missing_reach_s: AtomicF64,
    /// Shift of the spot in the print, seconds.
    pub spot_s: AtomicF64,
    /// The spot's polarity is reversed in the print.
    pub spot_flip: AtomicBool,
    /// Samples a second of the activation; 0 before the first.
    pub sample_rate: AtomicF64,
    /// Samples from input to output.
    pub latency: AtomicU32,
    /// Reach that is active, seconds.
    pub reach_s: AtomicF64,
    /// Main channels, 1 or 2.
    pub channels: AtomicU32,
    /// The layout has a spot.
    pub spot: AtomicBool,
    /// Frames that found the way to the analysis full, since the plugin was made.
    pub dropped_frames: AtomicU64,
}
