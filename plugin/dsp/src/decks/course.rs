//! The moving deck's course: from settings and song position to one offset a sample, in time with the audio.

use std::collections::VecDeque;

use super::automation::Smoother;
use super::drag::Decks;
use super::motion::{Cue, Motion, Pace, cycles, pass_turns};
use super::preview::Bearings;
use super::settings::{CourseSettings, FARTHEST_S};
use super::slew_limiter::Hand;
use super::song_clock::{SongClock, SongPosition, Transport};
use super::wobble::{Wobble, WobbleAmounts};
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::toward;

/// Time in which wow or flutter goes from nothing to 0.5 %. Common practice, no source.
const WOBBLE_FADE_S: f64 = 0.5;

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

/// Some samples of the course under the same settings. `T` travels with the settings: what else is automated.
#[derive(Clone, Copy, Debug)]
pub struct Stretch<T> {
    /// How many samples, 1 to `CHUNK`.
    pub count: usize,
    /// Moving deck minus fixed deck, seconds.
    pub offsets_s: [f64; CHUNK],
    /// Whether its first sample goes on from the sample before.
    pub continuity: Continuity,
    /// What came in with the settings in force.
    pub rest: T,
}

/// Keeps settings until the audio they belong to comes out, and moves the deck by them.
#[derive(Clone, Debug)]
pub struct Course<T> {
    sample_rate: f64,
    /// Seconds from one sample to the next.
    step_s: f64,
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
    /// Jumped: the hands are to be where the next sample has them.
    landing: Arrival,
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
            step_s: 1.0 / sample_rate,
            latency: latency as i64,
            count: 0,
            clock: SongClock::default(),
            // At most one entry a sample, and the one in force.
            entries: VecDeque::with_capacity(latency + 2),
            expected: SongPosition::default(),
            smoothed: [smoothed.clone(), smoothed],
            taking: 0,
            giving: 0,
            landing: Arrival::Continued,
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
        let arrival = if self.expected.jumps_to(&position) {
            Arrival::Jumped
        } else {
            Arrival::Continued
        };
        self.expected = position.after(seconds);
        let entry = Entry {
            at: self.count,
            position,
            arrival,
            settings: settings.sane(),
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
        self.landing = Arrival::Continued;
        self.amounts = entry.settings.wobble;
        self.centre.jump(entry.settings.offset_s);
        self.range.jump(entry.settings.range_s);
        self.decks.reset();
        self.shift = 0.0;
    }

    /// The next samples of output, at most `most` of them. `take` must have been called before.
    pub fn stretch(&mut self, most: usize) -> Stretch<T> {
        let now = self.count - self.latency;
        let continuity = self.arrive(now);
        let count = self.until_next(now).min(most).min(CHUNK);
        let (mut centre, mut range) = ([0.0; CHUNK], [0.0; CHUNK]);
        self.smooth(&mut centre[..count], &mut range[..count]);
        let mut offsets_s = [0.0; CHUNK];
        self.travel(now, &range[..count], &mut offsets_s[..count]);
        for (offset, centre) in offsets_s[..count].iter_mut().zip(&centre) {
            *offset = (centre + *offset).clamp(-FARTHEST_S, FARTHEST_S);
        }
        self.wobble(now, &mut offsets_s[..count]);
        self.count += count as i64;
        Stretch {
            count,
            offsets_s,
            continuity,
            rest: self.entries[0].rest,
        }
    }

    /// Where the deck is in the last sample that came out, `offset_s` being its offset.
    pub fn bearings(&self, offset_s: f64) -> Bearings {
        let last = self.count - 1 - self.latency;
        let place = |entry: &Entry<T>| {
            let late = (last - entry.at) as f64;
            entry.position.after(late * self.step_s)
        };
        Bearings {
            position: self.entries.front().map_or(self.expected, place),
            offset_s,
            cue: self.cue,
            shift: self.shift,
        }
    }

    /// Samples for which the entry in force stays so, at least 1.
    fn until_next(&self, now: i64) -> usize {
        let next = self.entries.get(1);
        next.map_or(usize::MAX, |next| (next.at - now) as usize)
    }

    /// The newest settings go in; centre and range come out in time with the audio, as fast as a hand can move.
    fn smooth(&mut self, centre: &mut [f64], range: &mut [f64]) {
        let newest = self.entries.back().expect("take comes first").settings;
        let (step_s, sample_rate) = (self.step_s, self.sample_rate);
        let [a, b] = &mut self.smoothed;
        let (giving, other) = if self.giving == 0 { (a, b) } else { (b, a) };
        let (mut unheard_offset, mut unheard_range) = ([0.0; CHUNK], [0.0; CHUNK]);
        let unheard = (
            &mut unheard_offset[..centre.len()],
            &mut unheard_range[..centre.len()],
        );
        if self.giving == self.taking {
            giving.push(&newest, sample_rate, (centre, range));
            other.hold(unheard);
        } else {
            giving.hold((centre, range));
            other.push(&newest, sample_rate, unheard);
        }
        centre.iter_mut().for_each(|x| *x *= step_s);
        range.iter_mut().for_each(|x| *x *= step_s);
        if self.landing == Arrival::Jumped {
            self.centre.jump(centre[0]);
            self.range.jump(range[0]);
            self.landing = Arrival::Continued;
        }
        self.centre.follow_all(centre);
        self.range.follow_all(range);
    }

    /// Brings entries into force whose audio comes out now.
    fn arrive(&mut self, now: i64) -> Continuity {
        let mut continuity = Continuity::Unbroken;
        while self.entries.get(1).is_some_and(|next| next.at <= now) {
            let before = self.entries.pop_front().expect("two of them").settings;
            let entry = self.entries[0];
            if entry.arrival == Arrival::Jumped {
                self.giving = 1 - self.giving;
                self.landing = Arrival::Jumped;
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
        let glides = self.change_pace(before, entry);
        let leaps = match after.motion {
            Motion::Hand | Motion::Drag => false,
            Motion::Cycle => !glides || before.curve != after.curve,
            Motion::Pass => cued || before.pace != after.pace || before.curve != after.curve,
        };
        if leaps || before.motion != after.motion {
            Continuity::Cut
        } else {
            Continuity::Unbroken
        }
    }

    /// A free cycle goes on from where it is at its new rate; true when the pace stays or changes like that.
    fn change_pace(&mut self, before: &CourseSettings, entry: &Entry<T>) -> bool {
        match (before.pace, entry.settings.pace) {
            (old, new) if old == new => true,
            (Pace::Hertz(old), Pace::Hertz(new)) => {
                self.shift += entry.position.seconds * (old - new);
                true
            }
            _ => {
                self.shift = 0.0;
                false
            }
        }
    }

    /// Fills `travel` with the distance from the centre, seconds.
    fn travel(&mut self, now: i64, ranges: &[f64], travel: &mut [f64]) {
        let settings = self.entries[0].settings;
        match settings.motion {
            Motion::Hand => {}
            Motion::Cycle => {
                let shift = self.shift;
                self.fill(now, travel, |place| cycles(&place, settings.pace) + shift);
                settings.curve.cycle_all(travel);
                scale(travel, ranges);
            }
            Motion::Pass => {
                let cue = self.cue;
                self.fill(now, travel, |place| {
                    pass_turns(cue.map_or(0.0, |cue| cue.progress(&place, settings.pace)))
                });
                settings.curve.cycle_all(travel);
                scale(travel, ranges);
            }
            Motion::Drag => {
                // What comes out before the first audio that came in is heard by nobody: no deck is held yet.
                let idle = (self.entries[0].at - now).clamp(0, travel.len() as i64) as usize;
                for (x, range) in travel.iter_mut().zip(ranges).skip(idle) {
                    self.decks.step(settings.hands, *range);
                    *x = self.decks.offset_s();
                }
            }
        }
    }

    /// Fills `out` with a function of each sample's place in the song.
    fn fill(&self, now: i64, out: &mut [f64], function: impl Fn(SongPosition) -> f64) {
        let entry = &self.entries[0];
        let first = (now - entry.at) as f64;
        for (n, out) in out.iter_mut().enumerate() {
            let late = (first + n as f64) * self.step_s;
            *out = function(entry.position.after(late));
        }
    }

    /// Adds the deck's own deviation.
    fn wobble(&mut self, now: i64, offsets: &mut [f64]) {
        let wanted = self.entries[0].settings.wobble;
        let still = WobbleAmounts::default();
        if wanted == still && self.amounts == still {
            return;
        }
        let mut seconds = [0.0; CHUNK];
        self.fill(now, &mut seconds[..offsets.len()], |place| place.seconds);
        let step = 0.005 / WOBBLE_FADE_S * self.step_s;
        for (offset, &seconds) in offsets.iter_mut().zip(&seconds) {
            self.amounts = WobbleAmounts {
                wow: toward(self.amounts.wow, wanted.wow, step),
                flutter: toward(self.amounts.flutter, wanted.flutter, step),
            };
            *offset += self.wobble.offset_s(seconds, self.amounts);
        }
    }
}

/// Offset and range, in samples, sample by sample.
type Distances<'a> = (&'a mut [f64], &'a mut [f64]);

impl Smoothed {
    fn fill(&mut self, settings: &CourseSettings, sample_rate: f64) {
        self.offset.fill(settings.offset_s * sample_rate);
        self.range.fill(settings.range_s * sample_rate);
    }

    fn push(&mut self, settings: &CourseSettings, sample_rate: f64, out: Distances<'_>) {
        self.offset.push(settings.offset_s * sample_rate, out.0);
        self.range.push(settings.range_s * sample_rate, out.1);
    }

    fn hold(&mut self, out: Distances<'_>) {
        self.offset.hold(out.0);
        self.range.hold(out.1);
    }
}

fn scale(travel: &mut [f64], ranges: &[f64]) {
    for (x, range) in travel.iter_mut().zip(ranges) {
        *x *= range;
    }
}
