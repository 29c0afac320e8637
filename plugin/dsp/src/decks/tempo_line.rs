//! Beats between a host's ticks: a line of even tempo through song positions that the host has rounded.

use super::song_position::SongPosition;

/// Some hosts count beats in ticks, 1920 or a whole part of that to a quarter note: their beats are wrong by up to one tick.
pub(super) const TICKS: f64 = 1920.0;
/// Beats that differ by less are equal: hosts round them to 2^-31.
pub(super) const SAME_BEATS: f64 = 1e-8;

/// The line beats = start + seconds · tempo / 60 that the host's positions lie on, within a tick.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct TempoLine {
    /// The host's last position.
    last: SongPosition,
    /// Beats at second 0 of the song, extrapolated at this tempo.
    start_beats: f64,
    /// Exact beats minus the host's.
    correction: f64,
}

/// Whether a position has the tempo of the one before.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Tempo {
    Kept,
    Changed,
}

impl TempoLine {
    /// Beats on the line. A position that continues evenly from one on a tick gets the same correction.
    pub(super) fn true_beats(&mut self, position: &SongPosition) -> f64 {
        let since = position.seconds - self.last.seconds;
        let straight = self.last.after(since);
        let tempo = if straight.tempo_bpm == position.tempo_bpm {
            Tempo::Kept
        } else {
            Tempo::Changed
        };
        let ticks = position.beats * TICKS;
        if (ticks - ticks.round()).abs() < SAME_BEATS * TICKS {
            self.correction = self.on_line(position, tempo) - position.beats;
        } else if tempo == Tempo::Changed || (straight.beats - position.beats).abs() > SAME_BEATS {
            self.correction = 0.0;
        }
        self.last = *position;
        position.beats + self.correction
    }

    /// Beats on the current line, or on a new one when the tempo has changed or the line is more than a tick off.
    fn on_line(&mut self, position: &SongPosition, tempo: Tempo) -> f64 {
        let tick = 1.0 / TICKS + SAME_BEATS;
        let run = position.seconds * position.tempo_bpm / 60.0;
        let start = position.beats - run;
        if tempo == Tempo::Changed || (start - self.start_beats).abs() > tick {
            // A song of one tempo has beat 0 at second 0.
            self.start_beats = if start.abs() > tick { start } else { 0.0 };
        }
        self.start_beats + run
    }
}
