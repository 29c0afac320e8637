//! The bars of the song over a file: tempo, metre, and where bar 1 begins.

use plumbline_hosting::{Song, Tempo};

/// A tempo, even or with a ramp, and a metre that stays, laid over a file. Bars count from 1; 3.5 is the middle of bar 3.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bars {
    /// Its seconds count from bar 1.
    pub tempo: Tempo,
    /// Quarter notes in a bar.
    pub beats_per_bar: u16,
    /// Where bar 1 begins, seconds of the file.
    pub first_s: f64,
}

impl Bars {
    /// A tempo that is `from.1` quarter notes a minute up to bar `from.0`, and from there changes evenly in time until it is
    /// `to.1` on bar `to.0`, the later one.
    pub fn ramp(from: (f64, f64), to: (f64, f64), beats_per_bar: u16) -> Tempo {
        let beats = |bars: f64| bars * f64::from(beats_per_bar);
        let begins_s = beats(from.0 - 1.0) * 60.0 / from.1;
        let takes_s = beats(to.0 - from.0) * 60.0 / (0.5 * (from.1 + to.1));
        Tempo::ramp((from.1, to.1), (begins_s, begins_s + takes_s))
    }

    /// Where a bar begins, seconds of the file.
    pub fn seconds(&self, bar: f64) -> f64 {
        let beats = (bar - 1.0) * f64::from(self.beats_per_bar);
        self.first_s + self.tempo.seconds(beats)
    }

    /// The bar at a moment of the file.
    pub fn bar(&self, seconds: f64) -> f64 {
        1.0 + self.beats(seconds) / f64::from(self.beats_per_bar)
    }

    /// Bars in so many quarter notes.
    pub fn bars(&self, beats: f64) -> f64 {
        beats / f64::from(self.beats_per_bar)
    }

    /// Quarter notes from bar 1 to a moment of the file.
    fn beats(&self, seconds: f64) -> f64 {
        self.tempo.beats(seconds - self.first_s)
    }

    /// The host's transport at a moment of the file; the song begins with bar 1.
    pub fn song(&self, seconds: f64) -> Song {
        Song {
            seconds: seconds - self.first_s,
            tempo: self.tempo,
            beats_per_bar: self.beats_per_bar,
        }
    }

    /// "bar 5, beat 1.00".
    pub fn words(&self, seconds: f64) -> String {
        // A hundredth of a beat before the line is printed as on the line.
        let hundredths = (self.beats(seconds) * 100.0).round() / 100.0;
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
        tempo: Tempo::steady(120.0),
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
    fn a_ramp_reaches_its_tempo_on_its_bar() {
        let bars = Bars {
            tempo: Bars::ramp((3.0, 100.0), (9.0, 120.0), 4),
            ..BARS
        };
        for bar in [1.0, 3.0, 5.5, 9.0, 12.0] {
            assert!((bars.bar(bars.seconds(bar)) - bar).abs() < 1e-12);
        }
        for (bar, bpm) in [(2.0, 100.0), (3.0, 100.0), (9.0, 120.0), (10.0, 120.0)] {
            let got = bars.song(bars.seconds(bar)).bpm();
            assert!((got - bpm).abs() < 1e-9, "bar {bar}: {got}");
        }
        // Six bars at 110 in the mean.
        let took = bars.seconds(9.0) - bars.seconds(3.0);
        assert!((took - 24.0 * 60.0 / 110.0).abs() < 1e-9);
    }

    #[test]
    fn just_before_a_bar_line_reads_as_the_bar_line() {
        assert_eq!(BARS.words(4.499_99), "bar 3, beat 1.00");
        assert_eq!(BARS.words(5.25), "bar 3, beat 2.50");
    }
}
