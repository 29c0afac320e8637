//! The newest measurement with its log of hits, and the state of the session that it belongs to.

use super::pick::PickedByPlaying;
use plumbline_dsp::measure::drum_sum::DrumSums;
use plumbline_dsp::measurement::{Hit, MAX_DRUMS, Measurement};

/// Most hits the log keeps: as many as the analyser does.
pub const LOG_LENGTH: usize = 64;

/// What the measurement says, and for which state of the session.
///
/// Writer: whoever owns the analysis (its thread, or the audio thread of an offline render). Readers: one triple buffer
/// goes to the audio thread, another to whoever saves the session.
#[derive(Clone, Copy, Debug)]
pub struct Report {
    pub measurement: Measurement,
    /// Oldest first; the rest is `None`.
    pub log: [Option<Hit>; LOG_LENGTH],
    /// What the mono sum of each drum loses for any gap that is taken out.
    pub sums: DrumSums,
    /// A drum that is being picked by playing it.
    pub playing: Option<PickedByPlaying>,
    /// Rises with every measurement that the host loads: an older report is out of date.
    pub epoch: u32,
}

impl Default for Report {
    fn default() -> Self {
        Self {
            measurement: Measurement::default(),
            log: [None; LOG_LENGTH],
            sums: [None; MAX_DRUMS],
            playing: None,
            epoch: 0,
        }
    }
}
