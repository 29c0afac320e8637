//! The transport that a hosted instance is told about: one tempo, running on with the blocks.

use clack_host::events::event_types::{TransportEvent, TransportFlags};
use clack_host::events::{EventFlags, EventHeader};
use clack_host::utils::{BeatTime, SecondsTime};

/// A place in a song of one tempo and metre. Beats are quarter notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Song {
    /// Since the song's start.
    pub seconds: f64,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// Quarter notes in a bar.
    pub beats_per_bar: u16,
}

impl Song {
    /// Quarter notes since the song's start.
    pub fn beats(&self) -> f64 {
        self.seconds * self.tempo_bpm / 60.0
    }

    /// The place this much later.
    pub fn after(self, seconds: f64) -> Self {
        Self {
            seconds: self.seconds + seconds,
            ..self
        }
    }

    /// As the plugin is told it: running.
    pub(crate) fn event(&self) -> TransportEvent {
        let bar = (self.beats() / f64::from(self.beats_per_bar)).floor();
        let nowhere = (BeatTime::from_int(0), SecondsTime::from_int(0));
        TransportEvent {
            header: EventHeader::new_core(0, EventFlags::empty()),
            flags: TransportFlags::HAS_TEMPO
                | TransportFlags::HAS_BEATS_TIMELINE
                | TransportFlags::HAS_SECONDS_TIMELINE
                | TransportFlags::HAS_TIME_SIGNATURE
                | TransportFlags::IS_PLAYING,
            song_pos_beats: BeatTime::from_float(self.beats()),
            song_pos_seconds: SecondsTime::from_float(self.seconds),
            tempo: self.tempo_bpm,
            tempo_inc: 0.0,
            loop_start_beats: nowhere.0,
            loop_end_beats: nowhere.0,
            loop_start_seconds: nowhere.1,
            loop_end_seconds: nowhere.1,
            bar_start: BeatTime::from_float(bar * f64::from(self.beats_per_bar)),
            bar_number: bar as i32,
            time_signature_numerator: self.beats_per_bar,
            time_signature_denominator: 4,
        }
    }
}
