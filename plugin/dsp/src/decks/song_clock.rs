//! The song position of every block: the host's transport while it runs, our own clock while it is stopped.

use super::song_position::{SongPosition, Transport};
use super::tempo_line::{SAME_BEATS, TempoLine};

/// The tempo of a block counts as rising evenly when the beats are within this part of what the rise adds to them.
const EVEN_RISE: f64 = 0.1;

/// Gives every block a song position: the host's, or the last one continued.
///
/// A host says the tempo at the start of a block and nothing of its course inside. Under a tempo ramp the position would
/// run ahead or behind and be put right at each block, so a tempo that rises evenly from one block to the next is
/// taken to go on rising. Inside a block that the shell has split, the transport is extrapolated from the block's start,
/// and tells nothing new.
#[derive(Clone, Debug, Default)]
pub struct SongClock {
    next: SongPosition,
    /// The last position of the host that was not an extrapolation of the one before.
    last_news: SongPosition,
    /// Seconds since then.
    elapsed: f64,
    /// Seconds between the last two news: a rise of the tempo is extrapolated for as long.
    rise_holds_s: f64,
    tempo_line: TempoLine,
}

impl SongClock {
    /// The position of a block's first sample; `seconds` is the block's length.
    pub fn advance(&mut self, transport: Transport, seconds: f64) -> SongPosition {
        let now = match transport {
            Transport::Running(position) => {
                let position = position.sane().steady();
                let beats = self.tempo_line.true_beats(&position);
                self.with_rise(SongPosition { beats, ..position })
            }
            Transport::Stopped => self.next.steady(),
        };
        self.elapsed += seconds;
        self.next = now.after(seconds);
        now
    }

    /// The host's position with the rise of the tempo, which hosts do not tell.
    fn with_rise(&mut self, position: SongPosition) -> SongPosition {
        let rise_bpm_per_s = self.last_news.rise_bpm_per_s;
        let holds = rise_bpm_per_s == 0.0 || self.elapsed < self.rise_holds_s - 1e-9;
        if holds && self.is_extrapolated(&position) {
            if rise_bpm_per_s == 0.0 {
                return position;
            }
            let risen = self.last_news.after(self.elapsed);
            return SongPosition {
                beats: risen.beats,
                tempo_bpm: risen.tempo_bpm,
                rise_bpm_per_s,
                ..position
            };
        }
        let position = SongPosition {
            rise_bpm_per_s: self.rise(&position),
            ..position
        };
        self.last_news = position;
        self.rise_holds_s = self.elapsed;
        self.elapsed = 0.0;
        position
    }

    fn is_extrapolated(&self, position: &SongPosition) -> bool {
        let straight = self.last_news.steady().after(self.elapsed);
        straight.tempo_bpm == position.tempo_bpm
            && (straight.beats - position.beats).abs() < SAME_BEATS
            && !straight.jumps_to(position)
    }

    /// Rise of the tempo since the last news, when the beats since then fit an even rise; else none.
    fn rise(&self, position: &SongPosition) -> f64 {
        let straight = self.last_news.steady().after(self.elapsed);
        let risen_bpm = position.tempo_bpm - straight.tempo_bpm;
        let even = 0.5 * risen_bpm * self.elapsed / 60.0;
        let added = position.beats - straight.beats;
        let fits = (added - even).abs() <= EVEN_RISE * even.abs() + SAME_BEATS;
        if self.elapsed > 0.0 && fits && !straight.jumps_to(position) {
            risen_bpm / self.elapsed
        } else {
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decks::tempo_line::TICKS;

    #[test]
    fn time_runs_on_while_the_transport_is_stopped() {
        let mut clock = SongClock::default();
        let bar_five = SongPosition {
            seconds: 8.0,
            beats: 16.0,
            ..SongPosition::default()
        };
        assert_eq!(clock.advance(Transport::Running(bar_five), 0.5), bar_five);
        let standing = clock.advance(Transport::Stopped, 0.5);
        assert_eq!((standing.seconds, standing.beats), (8.5, 17.0));
        assert_eq!(clock.advance(Transport::Stopped, 0.0).beats, 18.0);
    }

    /// Places under a ramp of 20 quarter notes a minute in a second, told every `block` of 1/48000 s and split into
    /// `parts`: the worst error in quarter notes after the first block.
    fn worst_under_a_ramp(block: usize, parts: usize) -> f64 {
        let true_beats = |seconds: f64| (100.0 * seconds + 10.0 * seconds * seconds) / 60.0;
        let mut clock = SongClock::default();
        let mut worst = 0.0f64;
        for n in 0..40 {
            let seconds = (n * block) as f64 / 48_000.0;
            let told = SongPosition {
                seconds,
                beats: true_beats(seconds),
                tempo_bpm: 100.0 + 20.0 * seconds,
                ..SongPosition::default()
            };
            let part = block as f64 / parts as f64 / 48_000.0;
            for k in 0..parts {
                let later = told.after(k as f64 * part);
                let position = clock.advance(Transport::Running(later), part);
                let end = position.after(part);
                if n > 1 {
                    worst = worst.max((end.beats - true_beats(end.seconds)).abs());
                }
            }
        }
        worst
    }

    #[test]
    fn under_a_ramp_the_place_is_right_inside_the_blocks_too() {
        for (block, parts) in [(64, 1), (512, 2), (512, 7), (4096, 16)] {
            let worst = worst_under_a_ramp(block, parts);
            assert!(worst < 1e-9, "{block} in {parts}: {worst}");
        }
    }

    #[test]
    fn ticks_do_not_make_the_song_stumble_and_a_song_of_one_tempo_is_exact() {
        for (tempo_bpm, first_s, begins) in
            [(120.0, 0.0, 0.0), (97.3, 12.3, 0.0), (97.3, 12.3, 5.123)]
        {
            let mut clock = SongClock::default();
            let mut errors = Vec::new();
            for n in 0..400 {
                let seconds = first_s + f64::from(n) * 1024.0 / 48_000.0;
                let true_beats = begins + seconds * tempo_bpm / 60.0;
                let told = SongPosition {
                    seconds,
                    beats: (true_beats * TICKS).floor() / TICKS,
                    tempo_bpm,
                    ..SongPosition::default()
                };
                // The shell works on a block in parts.
                for part in 0..4 {
                    let later = f64::from(part) * 256.0 / 48_000.0;
                    let part = told.after(later);
                    let position = clock.advance(Transport::Running(part), 256.0 / 48_000.0);
                    errors.push(position.beats - true_beats - later * tempo_bpm / 60.0);
                }
            }
            let [least, most] =
                [f64::min, f64::max].map(|f| errors[1..].iter().copied().fold(errors[0], f));
            let case = format!("{tempo_bpm}, {begins}: {least} to {most}");
            assert!(least.abs().max(most.abs()) <= 1.0 / TICKS, "{case}");
            assert!(most - least < 1e-9 || begins != 0.0, "{case}");
            assert!(begins != 0.0 || most.abs() < 1e-9, "{case}");
        }
    }

    #[test]
    fn a_step_of_the_tempo_is_no_ramp_and_a_ramp_ends() {
        let mut clock = SongClock::default();
        let mut told = SongPosition::default();
        for tempo_bpm in [120.0, 120.0, 90.0, 90.0, 90.0] {
            told.tempo_bpm = tempo_bpm;
            let position = clock.advance(Transport::Running(told), 0.01);
            assert_eq!(position.rise_bpm_per_s, 0.0);
            told = told.after(0.01);
        }
        let mut rises = Vec::new();
        for rise_bpm_per_s in [0.0, 50.0, 50.0, 50.0, 50.0, 0.0, 0.0] {
            let position = clock.advance(Transport::Running(told.steady()), 0.01);
            rises.push(position.rise_bpm_per_s.round());
            told = SongPosition {
                rise_bpm_per_s,
                ..told
            }
            .after(0.01);
        }
        // Known two blocks late, and its end one block late.
        assert_eq!(rises, [0.0, 0.0, 0.0, 50.0, 50.0, 50.0, 0.0]);
        clock.advance(Transport::Running(told), 0.01);
        assert_eq!(clock.advance(Transport::Stopped, 1.0).rise_bpm_per_s, 0.0);
    }
}
