//! A position in the song, in seconds and beats, and what a host's transport says of it.

/// A position in the song. Beats are quarter notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SongPosition {
    /// Seconds since the song's start.
    pub seconds: f64,
    /// Quarter notes since the song's start.
    pub beats: f64,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// How fast the tempo rises, quarter notes a minute in a second.
    pub rise_bpm_per_s: f64,
    /// Where a bar begins, quarter notes: the current one or any other of the same metre.
    pub bar_beats: f64,
    /// Quarter notes in one bar.
    pub beats_per_bar: f64,
}

impl Default for SongPosition {
    fn default() -> Self {
        Self {
            seconds: 0.0,
            beats: 0.0,
            tempo_bpm: 120.0,
            rise_bpm_per_s: 0.0,
            bar_beats: 0.0,
            beats_per_bar: 4.0,
        }
    }
}

/// Difference from the expected position above which the song has jumped, seconds; below, it is a host's rounding.
const JUMP_S: f64 = 0.001;
/// The same in beats: a tempo ramp that the host reports once a block stays well below.
const JUMP_BEATS: f64 = 0.02;

impl SongPosition {
    /// `seconds` later (earlier when negative), the tempo rising on.
    #[inline]
    pub fn after(self, seconds: f64) -> Self {
        const MINUTES: f64 = 1.0 / 60.0;
        let risen_bpm = seconds * self.rise_bpm_per_s;
        Self {
            seconds: self.seconds + seconds,
            beats: self.beats + seconds * (self.tempo_bpm + 0.5 * risen_bpm) * MINUTES,
            tempo_bpm: self.tempo_bpm + risen_bpm,
            ..self
        }
    }

    /// The same with an even tempo.
    pub(super) fn steady(self) -> Self {
        Self {
            rise_bpm_per_s: 0.0,
            ..self
        }
    }

    /// True when `next` is farther from this expected position than rounding explains.
    pub fn jumps_to(&self, next: &Self) -> bool {
        let seconds = (self.seconds - next.seconds).abs();
        let beats = (self.beats - next.beats).abs();
        seconds > JUMP_S || beats > JUMP_BEATS
    }

    /// The first bar line from here on, quarter notes; this position itself when it lies on one.
    pub fn next_bar(&self) -> f64 {
        let bars = (self.beats - self.bar_beats) / self.beats_per_bar;
        // A position that rounding has put up to 1e-6 of a bar behind a bar line lies on it.
        self.bar_beats + (bars - 1e-6).ceil() * self.beats_per_bar
    }

    /// Quarter notes at a place told in bars, the song's first one being 1: on the nearest quarter of a beat. Bars are
    /// counted from the song's beginning, all in the metre of this position.
    pub fn beats_at_bar(&self, bar: f64) -> f64 {
        let bars_before = (self.bar_beats / self.beats_per_bar).round();
        let first_bar = self.bar_beats - bars_before * self.beats_per_bar;
        first_bar + (4.0 * (bar - 1.0) * self.beats_per_bar).round() / 4.0
    }

    /// The same the other way round, on the nearest quarter of a beat.
    pub fn bar_at_beats(&self, beats: f64) -> f64 {
        let first_bar = self.beats_at_bar(1.0);
        1.0 + (4.0 * (beats - first_bar)).round() / 4.0 / self.beats_per_bar
    }

    /// The nearest position that the mathematics can use: finite, a tempo above zero, a bar of some length.
    pub fn sane(self) -> Self {
        let or = |x: f64, other: f64| if x.is_finite() { x } else { other };
        let standard = Self::default();
        Self {
            seconds: or(self.seconds, 0.0),
            beats: or(self.beats, 0.0),
            tempo_bpm: or(self.tempo_bpm, standard.tempo_bpm).clamp(1.0, 1000.0),
            rise_bpm_per_s: or(self.rise_bpm_per_s, 0.0),
            bar_beats: or(self.bar_beats, 0.0),
            beats_per_bar: or(self.beats_per_bar, standard.beats_per_bar).clamp(0.25, 64.0),
        }
    }
}

/// What the host says about a block.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Transport {
    /// It runs, and the block's first sample is here.
    Running(SongPosition),
    /// It is stopped, or nothing is known.
    Stopped,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_next_bar() {
        let at = |beats: f64| SongPosition {
            beats,
            ..SongPosition::default()
        };
        let table = [(0.0, 0.0), (0.1, 4.0), (4.0, 4.0), (7.9, 8.0), (-0.5, 0.0)];
        for (beats, bar) in table {
            assert_eq!(at(beats).next_bar(), bar, "from beat {beats}");
        }
        assert_eq!(at(4.0 + 1e-9).next_bar(), 4.0);
    }

    #[test]
    fn places_in_bars() {
        let metre = |bar_beats: f64, beats_per_bar: f64| SongPosition {
            bar_beats,
            beats_per_bar,
            ..SongPosition::default()
        };
        for (position, bar, beats) in [
            (metre(0.0, 4.0), 33.0, 128.0),
            (metre(64.0, 4.0), 33.0, 128.0),
            (metre(6.0, 3.0), 3.0, 6.0),
            (metre(7.0, 3.5), 2.0, 3.5),
            // A bar that does not begin on the count: the song starts with an upbeat.
            (metre(9.0, 4.0), 2.0, 5.0),
            // A third of a bar is no quarter of a beat in common time.
            (metre(0.0, 4.0), 2.0 + 1.0 / 3.0, 5.25),
            (metre(0.0, 3.0), 2.0 + 1.0 / 3.0, 4.0),
        ] {
            assert_eq!(position.beats_at_bar(bar), beats, "{position:?}, bar {bar}");
            let back = position.bar_at_beats(beats);
            assert_eq!(position.beats_at_bar(back), beats, "{position:?}: {back}");
        }
    }

    #[test]
    fn absurd_from_a_host() {
        let absurd = SongPosition {
            seconds: f64::NAN,
            beats: f64::INFINITY,
            tempo_bpm: 0.0,
            rise_bpm_per_s: f64::NAN,
            bar_beats: f64::NAN,
            beats_per_bar: -3.0,
        };
        let sane = absurd.sane();
        assert!(sane.next_bar().is_finite() && sane.tempo_bpm >= 1.0);
    }
}
