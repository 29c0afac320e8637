//! The moving deck's course: from settings and song position to one offset a sample, in time with the audio.

use std::collections::VecDeque;

use crate::hand::Hand;
use crate::motion::{Cue, Curve, Motion, Pace, cycles};
use crate::ramp::toward;
use crate::smoother::Smoother;
use crate::song::{SongClock, SongPosition, Transport};
use crate::tape::transport::{Decks, Hands};
use crate::tape::wobble::{Wobble, WobbleAmounts};

/// Farthest that the moving deck leads or follows, seconds.
pub const FARTHEST_S: f64 = 0.012;
/// Time in which wow or flutter goes from nothing to 0.5 %. Common practice, no source.
const WOBBLE_FADE_S: f64 = 0.5;

/// The settings that decide where the moving deck is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CourseSettings {
    /// What moves it.
    pub motion: Motion,
    /// Hand: where it is. Else the centre of the travel. Seconds, moving deck minus fixed deck.
    pub offset_s: f64,
    /// Greatest distance from the centre, seconds.
    pub range_s: f64,
    /// How long a cycle or a pass takes.
    pub pace: Pace,
    /// Shape of a cycle or a pass.
    pub curve: Curve,
    /// A pass is cued when this turns true.
    pub start: bool,
    /// What the hands do in the Drag motion.
    pub hands: Hands,
    /// Wow and flutter of the moving deck.
    pub wobble: WobbleAmounts,
}

impl Default for CourseSettings {
    /// By hand, at the null point.
    fn default() -> Self {
        Self {
            motion: Motion::Hand,
            offset_s: 0.0,
            range_s: 0.003,
            pace: Pace::Beats(16.0),
            curve: Curve::Sine,
            start: false,
            hands: Hands::Drag(0.0),
            wobble: WobbleAmounts::default(),
        }
    }
}

/// Settings as they came in with a sample.
#[derive(Clone, Copy, Debug)]
struct Entry<T> {
    /// Number of the sample since the reset.
    at: i64,
    position: SongPosition,
    arrival: Arrival,
    settings: CourseSettings,
    rest: T,
}

/// How an entry's place in the song follows from the one before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Arrival {
    Continued,
    Jumped,
}

/// Whether the course at this sample goes on from the sample before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Continuity {
    /// It does.
    Unbroken,
    /// Another motion, another pass or another place in the song: the audio must be cross-faded.
    Cut,
}

/// One sample of the course. `T` travels with the settings: what else is automated.
#[derive(Clone, Copy, Debug)]
pub struct Point<T> {
    /// Moving deck minus fixed deck, seconds.
    pub offset_s: f64,
    /// See [`Continuity`].
    pub continuity: Continuity,
    /// What came in with the settings in force.
    pub rest: T,
}

/// Keeps settings until the audio they belong to comes out, and moves the deck by them.
#[derive(Clone, Debug)]
pub struct Course<T> {
    sample_rate: f64,
    /// Samples from the plugin's input to its output.
    latency: i64,
    /// Samples since the reset.
    count: i64,
    clock: SongClock,
    /// Entries still waiting for their audio, the one in force first.
    entries: VecDeque<Entry<T>>,
    /// Where the song should be when the next entry comes.
    expected: SongPosition,
    /// Two of them, so that a jump in the song does not smooth across itself.
    smoothed: [Smoothed; 2],
    taking: usize,
    giving: usize,
    centre: Hand,
    range: Hand,
    decks: Decks,
    wobble: Wobble,
    amounts: WobbleAmounts,
    cue: Option<Cue>,
    /// Cycles added so that a free rate can be changed without a leap.
    shift: f64,
}

/// The automated distances, smooth and in time.
#[derive(Clone, Debug)]
struct Smoothed {
    offset: Smoother,
    range: Smoother,
}

impl<T: Copy> Course<T> {
    /// `latency`: samples from the plugin's input to its output, at least 12 ms.
    pub fn new(sample_rate: f64, latency: usize) -> Self {
        let smoothed = Smoothed {
            offset: Smoother::new(sample_rate, latency),
            range: Smoother::new(sample_rate, latency),
        };
        Self {
            sample_rate,
            latency: latency as i64,
            count: 0,
            clock: SongClock::default(),
            // At most one entry a sample, and the one in force.
            entries: VecDeque::with_capacity(latency + 2),
            expected: SongPosition::default(),
            smoothed: [smoothed.clone(), smoothed],
            taking: 0,
            giving: 0,
            centre: Hand::new(sample_rate, 1.0),
            range: Hand::new(sample_rate, 1.0),
            decks: Decks::new(sample_rate),
            wobble: Wobble::new(),
            amounts: WobbleAmounts::default(),
            cue: None,
            shift: 0.0,
        }
    }

    /// Forgets what came in; the next block starts afresh. The song's place while standing is kept.
    pub fn reset(&mut self) {
        self.count = 0;
        self.entries.clear();
        self.cue = None;
    }

    /// Settings for the next `count` samples (at least one), the first of them at the transport's place.
    pub fn take(&mut self, settings: &CourseSettings, rest: T, transport: Transport, count: usize) {
        let seconds = count as f64 / self.sample_rate;
        let position = self.clock.advance(transport, seconds);
        let arrival = match self.expected.jumps_to(&position) {
            true => Arrival::Jumped,
            false => Arrival::Continued,
        };
        self.expected = position.after(seconds);
        let entry = Entry {
            at: self.count,
            position,
            arrival,
            settings: sane(settings),
            rest,
        };
        if self.entries.is_empty() {
            self.begin(&entry);
        } else if arrival == Arrival::Jumped {
            self.taking = 1 - self.taking;
            self.smoothed[self.taking].fill(&entry.settings, self.sample_rate);
        }
        self.entries.push_back(entry);
    }

    fn begin(&mut self, entry: &Entry<T>) {
        for smoothed in &mut self.smoothed {
            smoothed.fill(&entry.settings, self.sample_rate);
        }
        self.giving = self.taking;
        self.amounts = entry.settings.wobble;
        self.centre.jump(entry.settings.offset_s);
        self.range.jump(entry.settings.range_s);
        self.decks.reset();
        self.shift = 0.0;
    }

    /// One sample of output. `take` must have been called before.
    pub fn step(&mut self) -> Point<T> {
        let newest = self.entries.back().expect("take comes first").settings;
        let mut inputs = [(0.0, 0.0); 2];
        for (index, (smoothed, input)) in self.smoothed.iter_mut().zip(&mut inputs).enumerate() {
            *input = smoothed.step((index == self.taking).then_some(&newest), self.sample_rate);
        }
        let now = self.count - self.latency;
        self.count += 1;
        let continuity = self.arrive(now, &inputs);
        let entry = self.entries[0];
        let position = entry
            .position
            .after((now - entry.at) as f64 / self.sample_rate);
        let (offset, range) = inputs[self.giving];
        let centre = self.centre.follow(offset);
        let range = self.range.follow(range);
        let travel = self.travel(&entry.settings, &position, range);
        let wobble = self.wobble(&entry.settings, &position);
        Point {
            offset_s: (centre + travel).clamp(-FARTHEST_S, FARTHEST_S) + wobble,
            continuity,
            rest: entry.rest,
        }
    }

    /// Brings entries into force whose audio comes out now.
    fn arrive(&mut self, now: i64, inputs: &[(f64, f64); 2]) -> Continuity {
        let mut continuity = Continuity::Unbroken;
        while self.entries.get(1).is_some_and(|next| next.at <= now) {
            let before = self.entries.pop_front().expect("two of them").settings;
            let entry = self.entries[0];
            if entry.arrival == Arrival::Jumped {
                self.giving = 1 - self.giving;
                let (offset, range) = inputs[self.giving];
                self.centre.jump(offset);
                self.range.jump(range);
                self.decks.reset();
                self.shift = 0.0;
                continuity = Continuity::Cut;
            }
            if self.change(&before, &entry) == Continuity::Cut {
                continuity = Continuity::Cut;
            }
        }
        continuity
    }

    /// What another setting does to the course at once.
    fn change(&mut self, before: &CourseSettings, entry: &Entry<T>) -> Continuity {
        let after = &entry.settings;
        let cued = after.start && !before.start;
        if cued {
            self.cue = Some(Cue::at(&entry.position, after.pace));
        }
        if before.motion != after.motion {
            self.decks.reset();
        }
        let timed = matches!(after.motion, Motion::Cycle | Motion::Pass);
        let paced = match (before.pace, after.pace) {
            (Pace::Hertz(old), Pace::Hertz(new)) => {
                self.shift += entry.position.seconds * (old - new);
                timed && after.motion == Motion::Pass && old != new
            }
            (old, new) => {
                if old != new {
                    self.shift = 0.0;
                }
                timed && old != new
            }
        };
        let cut = before.motion != after.motion
            || timed && before.curve != after.curve
            || paced
            || cued && after.motion == Motion::Pass;
        if cut {
            Continuity::Cut
        } else {
            Continuity::Unbroken
        }
    }

    fn travel(&mut self, settings: &CourseSettings, position: &SongPosition, range: f64) -> f64 {
        match settings.motion {
            Motion::Hand => 0.0,
            Motion::Cycle => {
                let turns = cycles(position, settings.pace) + self.shift;
                range * settings.curve.cycle(turns)
            }
            Motion::Pass => {
                let progress = |cue: Cue| cue.progress(position, settings.pace);
                range * settings.curve.pass(self.cue.map_or(0.0, progress))
            }
            Motion::Drag => {
                self.decks.step(settings.hands, range);
                self.decks.offset_s()
            }
        }
    }

    fn wobble(&mut self, settings: &CourseSettings, position: &SongPosition) -> f64 {
        let step = 0.005 / (WOBBLE_FADE_S * self.sample_rate);
        self.amounts = WobbleAmounts {
            wow: toward(self.amounts.wow, settings.wobble.wow, step),
            flutter: toward(self.amounts.flutter, settings.wobble.flutter, step),
        };
        self.wobble.offset_s(position.seconds, self.amounts)
    }
}

impl Smoothed {
    fn fill(&mut self, settings: &CourseSettings, sample_rate: f64) {
        self.offset.fill(settings.offset_s * sample_rate);
        self.range.fill(settings.range_s * sample_rate);
    }

    /// The next offset and range, seconds; without new settings the last ones go on.
    fn step(&mut self, settings: Option<&CourseSettings>, sample_rate: f64) -> (f64, f64) {
        let (offset, range) = match settings {
            Some(settings) => (
                self.offset.push(settings.offset_s * sample_rate),
                self.range.push(settings.range_s * sample_rate),
            ),
            None => (self.offset.hold(), self.range.hold()),
        };
        (offset / sample_rate, range / sample_rate)
    }
}

/// The nearest settings that the mathematics can use.
fn sane(settings: &CourseSettings) -> CourseSettings {
    let within = |x: f64, least: f64, most: f64| match x.is_finite() {
        true => x.clamp(least, most),
        false => 0.0f64.clamp(least, most),
    };
    let pace = match settings.pace {
        Pace::Beats(beats) => Pace::Beats(within(beats, 1.0 / 64.0, 4096.0)),
        Pace::Hertz(hz) => Pace::Hertz(within(hz, 0.0, 100.0)),
    };
    let hands = match settings.hands {
        Hands::Drag(force) => Hands::Drag(within(force, -1.0, 1.0)),
        Hands::Recue => Hands::Recue,
    };
    CourseSettings {
        offset_s: within(settings.offset_s, -FARTHEST_S, FARTHEST_S),
        range_s: within(settings.range_s, 0.0, FARTHEST_S),
        pace,
        hands,
        wobble: WobbleAmounts {
            wow: within(settings.wobble.wow, 0.0, 0.01),
            flutter: within(settings.wobble.flutter, 0.0, 0.01),
        },
        ..*settings
    }
}
