//! The moving deck's course: from settings and song position to one offset a sample, in time with the audio.

use std::collections::VecDeque;

use super::distances::{CentreAndRange, Distances};
use super::drag::DragModel;
use super::motion::{Cue, Motion, Pace, cycles, pass_turns};
use super::preview::DeckState;
use super::settings::{CourseSettings, FARTHEST_S};
use super::slew_limiter::SlewLimiter;
use super::song_clock::SongClock;
use super::song_position::{SongPosition, Transport};
use super::values::Values;
use super::wobble::{Wobble, WobbleAmounts};
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::toward;

/// The most wow or flutter that a parameter asks for, a weighted reading of 0.5 %.
const FULL_WOBBLE: f64 = 0.005;
/// Time in which wow or flutter goes from nothing to [`FULL_WOBBLE`]. Common practice, no source.
const WOBBLE_FADE_S: f64 = 0.5;

/// Settings and song position of one input sample.
#[derive(Clone, Copy, Debug)]
struct Entry<T> {
    /// Number of the sample since the reset.
    at: i64,
    position: SongPosition,
    step: SongStep,
    settings: CourseSettings,
    extra: T,
}

/// Whether the song ran on between two entries.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum SongStep {
    Continued,
    Jumped,
}

/// Whether the offset at this sample continues from the sample before.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Continuity {
    /// It continues.
    Unbroken,
    /// Another motion, another pass or another position in the song: the audio must be cross-faded.
    Cut,
}

/// The next samples of the course under the same settings. `T` is what else is automated; it is delayed with the settings.
#[derive(Clone, Copy, Debug)]
pub struct CourseChunk<T> {
    /// How many samples, 1 to `CHUNK`.
    pub count: usize,
    /// Of its first sample.
    pub continuity: Continuity,
    /// The `T` that came in with the settings in force.
    pub extra: T,
}

/// Delays settings until the audio that they came in with comes out, and computes the offset from them.
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
    distances: Distances,
    /// How the entry in force followed; a jump makes the slew limiters start at the next sample's distances.
    last_step: SongStep,
    centre: SlewLimiter,
    range: SlewLimiter,
    drag: DragModel,
    wobble: Wobble,
    amounts: WobbleAmounts,
    cue: Option<Cue>,
    /// Cycles added to those since the song's start, so that a free rate can be changed without a step of the offset.
    added_cycles: f64,
}

impl<T: Copy> Course<T> {
    /// `latency`: samples from the plugin's input to its output, at least 12 ms.
    pub fn new(sample_rate: f64, latency: usize) -> Self {
        Self {
            sample_rate,
            step_s: 1.0 / sample_rate,
            latency: latency as i64,
            count: 0,
            clock: SongClock::default(),
            // At most one entry a sample, and the one in force.
            entries: VecDeque::with_capacity(latency + 2),
            expected: SongPosition::default(),
            distances: Distances::new(sample_rate, latency),
            last_step: SongStep::Continued,
            centre: SlewLimiter::new(sample_rate, 1.0),
            range: SlewLimiter::new(sample_rate, 1.0),
            drag: DragModel::new(sample_rate),
            wobble: Wobble::new(),
            amounts: WobbleAmounts::default(),
            cue: None,
            added_cycles: 0.0,
        }
    }

    /// Forgets the settings that wait; the next block starts with its own. The clock keeps the song's position.
    pub fn reset(&mut self) {
        self.count = 0;
        self.entries.clear();
        self.cue = None;
    }

    /// Settings for the next `count` samples (at least one), the first of them at the transport's position.
    pub fn push(
        &mut self,
        settings: &CourseSettings,
        extra: T,
        transport: Transport,
        count: usize,
    ) {
        let seconds = count as f64 / self.sample_rate;
        let position = self.clock.advance(transport, seconds);
        let step = if self.expected.jumps_to(&position) {
            SongStep::Jumped
        } else {
            SongStep::Continued
        };
        self.expected = position.after(seconds);
        let entry = Entry {
            at: self.count,
            position,
            step,
            settings: settings.sane(),
            extra,
        };
        if self.entries.is_empty() {
            self.begin(&entry);
        } else if step == SongStep::Jumped {
            self.distances.write_after_jump(&entry.settings);
        }
        self.entries.push_back(entry);
    }

    fn begin(&mut self, entry: &Entry<T>) {
        self.distances.begin(&entry.settings);
        self.last_step = SongStep::Continued;
        self.amounts = entry.settings.wobble;
        self.centre.jump(entry.settings.offset_s);
        self.range.jump(entry.settings.range_s);
        self.drag.reset();
        self.added_cycles = 0.0;
    }

    /// The next samples of output, at most `most` of them. `push` must have been called before.
    pub fn next_chunk(&mut self, most: usize) -> CourseChunk<T> {
        let now = self.now();
        let continuity = self.bring_into_force(now);
        let count = self.until_next(now).min(most).min(CHUNK);
        CourseChunk {
            count,
            continuity,
            extra: self.entries[0].extra,
        }
    }

    /// Plays the samples of the next chunk: moving deck minus fixed deck in seconds goes `into` the values.
    pub fn offsets(&mut self, count: usize, into: &mut Values<f64>) {
        let now = self.now();
        let mut distances = CentreAndRange::default();
        self.follow_distances(count, &mut distances);
        self.count += count as i64;
        let CentreAndRange { centre, range } = &mut distances;
        if let (Some(travel), Values::Resting(centre)) = (self.resting_travel(now, range), &*centre)
        {
            *into = Values::Resting((centre + travel).clamp(-FARTHEST_S, FARTHEST_S));
            return;
        }
        let (centres, ranges) = (&centre.each()[..count], &range.each()[..count]);
        self.play(now, centres, ranges, &mut into.each()[..count]);
    }

    /// As [`offsets`](Self::offsets), where only the last of them is asked for.
    pub fn last_offset(&mut self, count: usize) -> f64 {
        let last = count - 1;
        let CourseSettings { motion, wobble, .. } = self.entries[0].settings;
        if motion == Motion::Drag || wobble != self.amounts {
            let mut offsets_s = Values::Resting(0.0);
            self.offsets(count, &mut offsets_s);
            return offsets_s.at(last);
        }
        let now = self.now() + last as i64;
        let mut distances = CentreAndRange::default();
        self.follow_distances(count, &mut distances);
        self.count += count as i64;
        let CentreAndRange { centre, range } = &distances;
        let mut offset_s = [0.0];
        self.play(now, &[centre.at(last)], &[range.at(last)], &mut offset_s);
        offset_s[0]
    }

    /// Offsets of the samples from `now` on, with their centres and ranges.
    fn play(&mut self, now: i64, centres: &[f64], ranges: &[f64], offsets_s: &mut [f64]) {
        offsets_s.fill(0.0);
        self.travel(now, ranges, offsets_s);
        for (offset, centre) in offsets_s.iter_mut().zip(centres) {
            *offset = (centre + *offset).clamp(-FARTHEST_S, FARTHEST_S);
        }
        self.wobble(now, offsets_s);
    }

    /// The sample that comes out next, counted as those that go in.
    fn now(&self) -> i64 {
        self.count - self.latency
    }

    /// Distance from the centre, seconds, while nothing but the centre can move.
    fn resting_travel(&self, now: i64, range: &Values<f64>) -> Option<f64> {
        let Entry { at, settings, .. } = self.entries[0];
        let still = WobbleAmounts::default();
        if settings.wobble != still || self.amounts != still {
            return None;
        }
        match (settings.motion, range) {
            (Motion::Hand, _) => Some(0.0),
            (Motion::Drag, Values::Resting(range)) if at <= now => {
                self.drag.resting_offset_s(settings.drag, *range)
            }
            _ => None,
        }
    }

    /// Where the deck is in the last sample that came out, `offset_s` being its offset.
    pub fn deck_state(&self, offset_s: f64) -> DeckState {
        let last = self.count - 1 - self.latency;
        let late_position = |entry: &Entry<T>| {
            let late = (last - entry.at) as f64;
            entry.position.after(late * self.step_s)
        };
        DeckState {
            position: self.entries.front().map_or(self.expected, late_position),
            offset_s,
            cue: self.cue,
            added_cycles: self.added_cycles,
        }
    }

    /// Samples for which the entry in force stays so, at least 1.
    fn until_next(&self, now: i64) -> usize {
        let next = self.entries.get(1);
        next.map_or(usize::MAX, |next| (next.at - now) as usize)
    }

    /// The newest settings go in; centre and range of the samples that come out are slew-limited.
    fn follow_distances(&mut self, count: usize, into: &mut CentreAndRange) {
        let newest = self.entries.back().expect("push comes first").settings;
        self.distances.next(&newest, count, into);
        let CentreAndRange { centre, range } = into;
        if self.last_step == SongStep::Jumped {
            self.centre.jump(centre.at(0));
            self.range.jump(range.at(0));
            self.last_step = SongStep::Continued;
        }
        self.centre.follow_all(centre, count);
        self.range.follow_all(range, count);
    }

    /// Brings entries into force whose audio comes out now.
    fn bring_into_force(&mut self, now: i64) -> Continuity {
        let mut continuity = Continuity::Unbroken;
        while self.entries.get(1).is_some_and(|next| next.at <= now) {
            let before = self.entries.pop_front().expect("two of them").settings;
            let entry = self.entries[0];
            if entry.step == SongStep::Jumped {
                self.distances.read_after_jump();
                self.last_step = SongStep::Jumped;
                self.drag.reset();
                self.added_cycles = 0.0;
                continuity = Continuity::Cut;
            }
            if self.change(&before, &entry) == Continuity::Cut {
                continuity = Continuity::Cut;
            }
        }
        continuity
    }

    /// Whether new settings break the course; a cue, the drag and the pace take effect here.
    fn change(&mut self, before: &CourseSettings, entry: &Entry<T>) -> Continuity {
        let after = &entry.settings;
        let cued = after.start && !before.start;
        if cued {
            self.cue = Some(Cue::at(&entry.position, after.pace));
        }
        if before.motion != after.motion {
            self.drag.reset();
        }
        let pace_continues = self.change_pace(before, entry);
        let breaks = match after.motion {
            Motion::Hand | Motion::Drag => false,
            Motion::Cycle => !pace_continues || before.curve != after.curve,
            Motion::Pass => cued || before.pace != after.pace || before.curve != after.curve,
        };
        if breaks || before.motion != after.motion {
            Continuity::Cut
        } else {
            Continuity::Unbroken
        }
    }

    /// A free cycle goes on from its phase at the new rate; true when the pace stays or changes like that.
    fn change_pace(&mut self, before: &CourseSettings, entry: &Entry<T>) -> bool {
        match (before.pace, entry.settings.pace) {
            (old, new) if old == new => true,
            (Pace::Hertz(old), Pace::Hertz(new)) => {
                self.added_cycles += entry.position.seconds * (old - new);
                true
            }
            _ => {
                self.added_cycles = 0.0;
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
                let added = self.added_cycles;
                self.fill(now, travel, |position| {
                    cycles(&position, settings.pace) + added
                });
                settings.curve.cycle_all(travel);
                scale(travel, ranges);
            }
            Motion::Pass => {
                let cue = self.cue;
                self.fill(now, travel, |position| {
                    pass_turns(cue.map_or(0.0, |cue| cue.progress(&position, settings.pace)))
                });
                settings.curve.cycle_all(travel);
                scale(travel, ranges);
            }
            Motion::Drag => {
                // Before the first input sample comes out, the output is the silence of the empty lines: no braking yet.
                let idle = (self.entries[0].at - now).clamp(0, travel.len() as i64) as usize;
                for (x, range) in travel.iter_mut().zip(ranges).skip(idle) {
                    self.drag.step(settings.drag, *range);
                    *x = self.drag.offset_s();
                }
            }
        }
    }

    /// Fills `out` with a function of each sample's position in the song.
    fn fill(&self, now: i64, out: &mut [f64], function: impl Fn(SongPosition) -> f64) {
        let entry = &self.entries[0];
        let first = (now - entry.at) as f64;
        for (n, out) in out.iter_mut().enumerate() {
            let late = (first + n as f64) * self.step_s;
            *out = function(entry.position.after(late));
        }
    }

    /// Adds wow and flutter.
    fn wobble(&mut self, now: i64, offsets: &mut [f64]) {
        let wanted = self.entries[0].settings.wobble;
        let still = WobbleAmounts::default();
        if wanted == still && self.amounts == still {
            return;
        }
        let mut seconds = [0.0; CHUNK];
        self.fill(now, &mut seconds[..offsets.len()], |position| {
            position.seconds
        });
        let step = FULL_WOBBLE / WOBBLE_FADE_S * self.step_s;
        for (offset, &seconds) in offsets.iter_mut().zip(&seconds) {
            self.amounts = WobbleAmounts {
                wow: toward(self.amounts.wow, wanted.wow, step),
                flutter: toward(self.amounts.flutter, wanted.flutter, step),
            };
            *offset += self.wobble.offset_s(seconds, self.amounts);
        }
    }
}

fn scale(travel: &mut [f64], ranges: &[f64]) {
    for (x, range) in travel.iter_mut().zip(ranges) {
        *x *= range;
    }
}
