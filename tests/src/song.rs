//! The transport that a hosted instance is told about, running on with the blocks: a steady tempo, or a ramp.

use clack_host::events::event_types::{TransportEvent, TransportFlags};
use clack_host::events::{EventFlags, EventHeader};
use clack_host::utils::{BeatTime, SecondsTime};

/// The tempo of a song: one that stays, or one that changes evenly in time between two times.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tempo {
    /// Quarter notes a minute before the ramp and after it.
    bpm: (f64, f64),
    /// Where the ramp begins and ends, seconds of the song.
    ramp_s: (f64, f64),
}

impl Tempo {
    /// The same everywhere, quarter notes a minute.
    pub const fn steady(bpm: f64) -> Self {
        Self::ramp((bpm, bpm), (0.0, 0.0))
    }

    /// From one tempo to another between two seconds of the song, the first not after the second.
    pub const fn ramp(bpm: (f64, f64), ramp_s: (f64, f64)) -> Self {
        Self { bpm, ramp_s }
    }

    /// Quarter notes a minute at this second of the song.
    pub fn bpm(&self, seconds: f64) -> f64 {
        if seconds >= self.ramp_s.1 {
            return self.bpm.1;
        }
        self.bpm.0 + self.steepness() * (seconds - self.ramp_s.0).max(0.0)
    }

    /// Quarter notes from the song's start to this second.
    pub fn beats(&self, seconds: f64) -> f64 {
        let (from, to) = self.ramp_s;
        let inside = (seconds - from).clamp(0.0, to - from);
        let risen = 0.5 * self.steepness() * inside * inside;
        let until = self.bpm.0 * seconds.min(to) + self.bpm.1 * (seconds - to).max(0.0);
        (until + risen) / 60.0
    }

    /// Seconds from the song's start to this quarter note: the inverse of [`Tempo::beats`].
    pub fn seconds(&self, beats: f64) -> f64 {
        let (from, to) = self.ramp_s;
        let [into, beyond] = [from, to].map(|at| 60.0 * (beats - self.beats(at)));
        if beyond >= 0.0 {
            to + beyond / self.bpm.1
        } else if into <= 0.0 {
            from + into / self.bpm.0
        } else {
            let root = (self.bpm.0.powi(2) + 2.0 * self.steepness() * into).sqrt();
            from + 2.0 * into / (self.bpm.0 + root)
        }
    }

    /// Change of tempo inside the ramp, quarter notes a minute in a second.
    fn steepness(&self) -> f64 {
        let length = self.ramp_s.1 - self.ramp_s.0;
        if length > 0.0 {
            (self.bpm.1 - self.bpm.0) / length
        } else {
            0.0
        }
    }
}

/// A position in a song of one metre. Beats are quarter notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Song {
    /// Since the song's start.
    pub seconds: f64,
    pub tempo: Tempo,
    /// Quarter notes in a bar.
    pub beats_per_bar: u16,
}

impl Song {
    /// Quarter notes since the song's start.
    pub fn beats(&self) -> f64 {
        self.tempo.beats(self.seconds)
    }

    /// Quarter notes a minute, here.
    pub fn bpm(&self) -> f64 {
        self.tempo.bpm(self.seconds)
    }

    /// Where the bar began that this position is in, quarter notes since the song's start.
    pub fn bar_beats(&self) -> f64 {
        self.bar() * f64::from(self.beats_per_bar)
    }

    /// The position this much later.
    pub fn after(self, seconds: f64) -> Self {
        Self {
            seconds: self.seconds + seconds,
            ..self
        }
    }

    /// Bars since the song's start.
    fn bar(&self) -> f64 {
        (self.beats() / f64::from(self.beats_per_bar)).floor()
    }

    /// As a CLAP transport event of a running transport.
    pub(crate) fn event(&self) -> TransportEvent {
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
            tempo: self.bpm(),
            // Few hosts say how the tempo moves inside a block; this one does not.
            tempo_inc: 0.0,
            loop_start_beats: nowhere.0,
            loop_end_beats: nowhere.0,
            loop_start_seconds: nowhere.1,
            loop_end_seconds: nowhere.1,
            bar_start: BeatTime::from_float(self.bar_beats()),
            bar_number: self.bar() as i32,
            time_signature_numerator: self.beats_per_bar,
            time_signature_denominator: 4,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_and_beats_are_each_others_inverse() {
        for tempo in [
            Tempo::steady(108.0),
            Tempo::ramp((100.0, 120.0), (2.0, 10.0)),
            Tempo::ramp((160.0, 60.0), (-1.0, 4.0)),
        ] {
            for tenth in -50..200 {
                let seconds = f64::from(tenth) / 10.0;
                let back = tempo.seconds(tempo.beats(seconds));
                assert!(
                    (back - seconds).abs() < 1e-12,
                    "{tempo:?}: {seconds} {back}"
                );
                let ahead =
                    (tempo.beats(seconds + 1e-4) - tempo.beats(seconds - 1e-4)) * 60.0 / 2e-4;
                assert!(
                    (ahead - tempo.bpm(seconds)).abs() < 1e-2,
                    "{tempo:?}: {seconds}"
                );
            }
        }
    }

    #[test]
    fn a_ramp_passes_as_many_beats_as_its_middle_tempo() {
        let tempo = Tempo::ramp((100.0, 120.0), (2.0, 8.0));
        assert_eq!(tempo.beats(8.0) - tempo.beats(2.0), 11.0);
        assert_eq!(
            (tempo.bpm(0.0), tempo.bpm(5.0), tempo.bpm(9.0)),
            (100.0, 110.0, 120.0)
        );
    }
}
