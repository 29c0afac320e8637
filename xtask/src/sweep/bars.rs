//! The bars of the song over a file: tempo, metre, and where bar 1 begins.

use plumbline_hosting::{Song, Tempo};

/// A tempo and a metre that stay, laid over a file. Bars count from 1; 3.5 is the middle of bar 3.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bars {
    /// Quarter notes a minute.
    pub tempo_bpm: f64,
    /// Quarter notes in a bar.
    pub beats_per_bar: u16,
    /// Where bar 1 begins, seconds of the file.
    pub first_s: f64,
}

impl Bars {
    /// Seconds of one bar.
    pub fn bar_s(&self) -> f64 {
        f64::from(self.beats_per_bar) * self.beat_s()
    }

    /// Seconds of one quarter note.
    pub fn beat_s(&self) -> f64 {
        60.0 / self.tempo_bpm
    }

    /// Where a bar begins, seconds of the file.
    pub fn seconds(&self, bar: f64) -> f64 {
        self.first_s + (bar - 1.0) * self.bar_s()
    }

    /// The bar at a place of the file.
    pub fn bar(&self, seconds: f64) -> f64 {
        1.0 + (seconds - self.first_s) / self.bar_s()
    }

    /// The host's transport at a place of the file; the song begins with bar 1.
    pub fn song(&self, seconds: f64) -> Song {
        Song {
            seconds: seconds - self.first_s,
            tempo: Tempo::steady(self.tempo_bpm),
            beats_per_bar: self.beats_per_bar,
        }
    }

    /// "bar 5, beat 1.00".
    pub fn words(&self, seconds: f64) -> String {
        // A hundredth of a beat before the line is printed as on the line.
        let hundredths = ((seconds - self.first_s) / self.beat_s() * 100.0).round() / 100.0;
        let beats_per_bar = f64::from(self.beats_per_bar);
        let bar = (hundredths / beats_per_bar).floor();
        let beat = hundredths - bar * beats_per_bar;
        format!("bar {:.0}, beat {:.2}", bar + 1.0, beat + 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BARS: Bars = Bars {
        tempo_bpm: 120.0,
        beats_per_bar: 4,
        first_s: 0.5,
    };

    #[test]
    fn bars_and_seconds() {
        for (bar, seconds) in [(1.0, 0.5), (3.0, 4.5), (2.5, 3.5), (0.0, -1.5)] {
            assert_eq!(BARS.seconds(bar), seconds);
            assert_eq!(BARS.bar(seconds), bar);
        }
        assert_eq!(BARS.song(4.5).beats(), 8.0);
    }

    #[test]
    fn a_hair_before_the_line_is_the_line() {
        assert_eq!(BARS.words(4.499_99), "bar 3, beat 1.00");
        assert_eq!(BARS.words(5.25), "bar 3, beat 2.50");
    }
}
