//! Where in the song a sample belongs: the host's transport while it runs, our own clock while it stands.

/// A place in the song. Beats are quarter notes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SongPosition {
    /// Seconds since the song's start.
    pub seconds: f64,
    /// Quarter notes since the song's start.
    pub beats: f64,
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
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
            bar_beats: 0.0,
            beats_per_bar: 4.0,
        }
    }
}

/// More than this between where the song should be and where it is, in seconds, is a jump and not rounding.
const JUMP_S: f64 = 0.001;
/// The same in beats: a tempo ramp that the host reports once a block stays well below.
const JUMP_BEATS: f64 = 0.02;

impl SongPosition {
    /// `seconds` later (earlier when negative) at this tempo.
    #[inline]
    pub fn after(self, seconds: f64) -> Self {
        const MINUTES: f64 = 1.0 / 60.0;
        Self {
            seconds: self.seconds + seconds,
            beats: self.beats + seconds * self.tempo_bpm * MINUTES,
            ..self
        }
    }

    /// True when `next` is not where this place was expected to lead.
    pub fn jumps_to(&self, next: &Self) -> bool {
        let seconds = (self.seconds - next.seconds).abs();
        let beats = (self.beats - next.beats).abs();
        seconds > JUMP_S || beats > JUMP_BEATS
    }

    /// The first bar line from here on, quarter notes; this place itself when it lies on one.
    pub fn next_bar(&self) -> f64 {
        let bars = (self.beats - self.bar_beats) / self.beats_per_bar;
        // A bar line that rounding put a hair behind is still this one.
        self.bar_beats + (bars - 1e-6).ceil() * self.beats_per_bar
    }

    /// The nearest place that the mathematics can use: finite, a tempo above zero, a bar of some length.
    pub fn sane(self) -> Self {
        let or = |x: f64, other: f64| if x.is_finite() { x } else { other };
        let standard = Self::default();
        Self {
            seconds: or(self.seconds, 0.0),
            beats: or(self.beats, 0.0),
            tempo_bpm: or(self.tempo_bpm, standard.tempo_bpm).clamp(1.0, 1000.0),
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
    /// It stands, or nothing is known.
    Standing,
}

/// Gives every block a place: the host's, or running on smoothly from the last one.
#[derive(Clone, Debug, Default)]
pub struct SongClock {
    next: SongPosition,
}

impl SongClock {
    /// The place of a block's first sample; `seconds` is the block's length.
    pub fn advance(&mut self, transport: Transport, seconds: f64) -> SongPosition {
        let now = match transport {
            Transport::Running(position) => position.sane(),
            Transport::Standing => self.next,
        };
        self.next = now.after(seconds);
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn time_runs_on_while_the_transport_stands() {
        let mut clock = SongClock::default();
        let bar_five = SongPosition {
            seconds: 8.0,
            beats: 16.0,
            ..SongPosition::default()
        };
        assert_eq!(clock.advance(Transport::Running(bar_five), 0.5), bar_five);
        let standing = clock.advance(Transport::Standing, 0.5);
        assert_eq!((standing.seconds, standing.beats), (8.5, 17.0));
        assert_eq!(clock.advance(Transport::Standing, 0.0).beats, 18.0);
    }

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
    fn nonsense_from_a_host() {
        let nonsense = SongPosition {
            seconds: f64::NAN,
            beats: f64::INFINITY,
            tempo_bpm: 0.0,
            bar_beats: f64::NAN,
            beats_per_bar: -3.0,
        };
        let sane = nonsense.sane();
        assert!(sane.next_bar().is_finite() && sane.tempo_bpm >= 1.0);
    }
}
