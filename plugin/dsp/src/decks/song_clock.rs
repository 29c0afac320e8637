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

/// More than this between where the song should be and where it is, in seconds, is a jump and not rounding.
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
    fn steady(self) -> Self {
        Self {
            rise_bpm_per_s: 0.0,
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
    /// It stands, or nothing is known.
    Standing,
}

/// Some hosts count in ticks, so many to a quarter note or a whole part of that: their beats are behind or ahead by up to one.
const TICKS: f64 = 1920.0;
/// Hosts round beats to 2^-31; what differs by less than this is said alike.
const SAME_BEATS: f64 = 1e-8;
/// How far the beats of a block may be from those of an even rise, as a part of what the rise adds to them.
const EVEN: f64 = 0.1;

/// Gives every block a place: the host's, or running on smoothly from the last one.
///
/// A host says the tempo at the start of a block and nothing of its course inside. Under a tempo ramp the place would
/// run ahead or behind and be put right at each block, so a tempo that rises evenly from one block to the next is
/// taken to go on rising. Inside a block that the shell has split, the host's word is a straight line on from the
/// block's start, and says nothing new.
#[derive(Clone, Debug, Default)]
pub struct SongClock {
    next: SongPosition,
    /// What the host said last that was new.
    said: SongPosition,
    /// Seconds since then.
    elapsed: f64,
    /// Seconds that the block before took: as long a rise is believed.
    believed: f64,
    line: Line,
}

/// Where the beats of an even tempo lie, so that a host's ticks do not make the decks stumble.
#[derive(Clone, Copy, Debug, Default)]
struct Line {
    /// What the host said last.
    said: SongPosition,
    /// Of the song's start, were it all at this tempo.
    beats: f64,
    /// From what the host says to the place between its ticks.
    correction: f64,
}

impl Line {
    /// The place between the ticks. What follows straight from a place on a tick has its correction.
    fn true_beats(&mut self, position: &SongPosition) -> f64 {
        let since = position.seconds - self.said.seconds;
        let straight = self.said.after(since);
        let even = straight.tempo_bpm == position.tempo_bpm;
        let ticks = position.beats * TICKS;
        if (ticks - ticks.round()).abs() < SAME_BEATS * TICKS {
            self.correction = self.place(position, even) - position.beats;
        } else if !even || (straight.beats - position.beats).abs() > SAME_BEATS {
            self.correction = 0.0;
        }
        self.said = *position;
        position.beats + self.correction
    }

    /// On the line of this tempo, or on a new one where there is none near.
    fn place(&mut self, position: &SongPosition, even: bool) -> f64 {
        let tick = 1.0 / TICKS + SAME_BEATS;
        let run = position.seconds * position.tempo_bpm / 60.0;
        let begins = position.beats - run;
        if !even || (begins - self.beats).abs() > tick {
            // A song of one tempo begins at its beginning.
            self.beats = if begins.abs() > tick { begins } else { 0.0 };
        }
        self.beats + run
    }
}

impl SongClock {
    /// The place of a block's first sample; `seconds` is the block's length.
    pub fn advance(&mut self, transport: Transport, seconds: f64) -> SongPosition {
        let now = match transport {
            Transport::Running(position) => {
                let position = position.sane().steady();
                let beats = self.line.true_beats(&position);
                self.hear(SongPosition { beats, ..position })
            }
            Transport::Standing => self.next.steady(),
        };
        self.elapsed += seconds;
        self.next = now.after(seconds);
        now
    }

    /// What the host says, with the rise that it leaves out.
    fn hear(&mut self, position: SongPosition) -> SongPosition {
        let rise_bpm_per_s = self.said.rise_bpm_per_s;
        let believed = rise_bpm_per_s == 0.0 || self.elapsed < self.believed - 1e-9;
        if believed && self.says_nothing_new(&position) {
            if rise_bpm_per_s == 0.0 {
                return position;
            }
            let risen = self.said.after(self.elapsed);
            return SongPosition {
                beats: risen.beats,
                tempo_bpm: risen.tempo_bpm,
                rise_bpm_per_s,
                ..position
            };
        }
        let place = SongPosition {
            rise_bpm_per_s: self.rise(&position),
            ..position
        };
        self.said = place;
        self.believed = self.elapsed;
        self.elapsed = 0.0;
        place
    }

    fn says_nothing_new(&self, position: &SongPosition) -> bool {
        let straight = self.said.steady().after(self.elapsed);
        straight.tempo_bpm == position.tempo_bpm
            && (straight.beats - position.beats).abs() < SAME_BEATS
            && !straight.jumps_to(position)
    }

    /// Rise of the tempo since the host's last word, when the beats since then are those of an even one; else none.
    fn rise(&self, position: &SongPosition) -> f64 {
        let straight = self.said.steady().after(self.elapsed);
        let risen_bpm = position.tempo_bpm - straight.tempo_bpm;
        let even = 0.5 * risen_bpm * self.elapsed / 60.0;
        let added = position.beats - straight.beats;
        let fits = (added - even).abs() <= EVEN * even.abs() + SAME_BEATS;
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
                let place = clock.advance(Transport::Running(later), part);
                let end = place.after(part);
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
                    let place = clock.advance(Transport::Running(part), 256.0 / 48_000.0);
                    errors.push(place.beats - true_beats - later * tempo_bpm / 60.0);
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
            let place = clock.advance(Transport::Running(told), 0.01);
            assert_eq!(place.rise_bpm_per_s, 0.0);
            told = told.after(0.01);
        }
        let mut rises = Vec::new();
        for rise_bpm_per_s in [0.0, 50.0, 50.0, 50.0, 50.0, 0.0, 0.0] {
            let place = clock.advance(Transport::Running(told.steady()), 0.01);
            rises.push(place.rise_bpm_per_s.round());
            told = SongPosition {
                rise_bpm_per_s,
                ..told
            }
            .after(0.01);
        }
        // Known two blocks late, and its end one block late.
        assert_eq!(rises, [0.0, 0.0, 0.0, 50.0, 50.0, 50.0, 0.0]);
        clock.advance(Transport::Running(told), 0.01);
        assert_eq!(clock.advance(Transport::Standing, 1.0).rise_bpm_per_s, 0.0);
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
            rise_bpm_per_s: f64::NAN,
            bar_beats: f64::NAN,
            beats_per_bar: -3.0,
        };
        let sane = nonsense.sane();
        assert!(sane.next_bar().is_finite() && sane.tempo_bpm >= 1.0);
    }
}
