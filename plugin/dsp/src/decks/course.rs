//! The moving deck's course: from settings and song position to one offset a sample, in time with the audio.

use std::collections::VecDeque;

use super::depth::Depth;
use super::distances::{CentreAndRange, Distances};
use super::drag::DragModel;
use super::motion::{Cue, Motion, Pace};
use super::pass::Pass;
use super::preview::DeckState;
use super::settings::{CourseSettings, FARTHEST_S};
use super::slew_limiter::SlewLimiter;
use super::song_clock::SongClock;
use super::song_position::{SongPosition, Transport};
use super::values::Values;
use super::wobble::{Wobble, WobbleAmounts};
use crate::delay::delay_line::CHUNK;

/// Settings and song position of one input sample.
#[derive(Clone, Copy, Debug)]
pub(super) struct Entry<T> {
    /// Number of the sample since the reset.
    pub(super) at: i64,
    pub(super) position: SongPosition,
    step: SongStep,
    pub(super) settings: CourseSettings,
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
    pub(super) step_s: f64,
    /// Samples from the plugin's input to its output.
    latency: i64,
    /// Samples since the reset.
    count: i64,
    clock: SongClock,
    /// Entries still waiting for their audio, the one in force first.
    pub(super) entries: VecDeque<Entry<T>>,
    /// Where the song should be when the next entry comes.
    expected: SongPosition,
    distances: Distances,
    /// How the entry in force followed; a jump makes the slew limiters start at the next sample's distances.
    last_step: SongStep,
    centre: SlewLimiter,
    range: SlewLimiter,
    pub(super) drag: DragModel,
    pub(super) wobble: Wobble,
    pub(super) amounts: WobbleAmounts,
    /// How much of the comb is heard in the last sample; `None`: the next one begins where it is wanted.
    pub(super) depth: Depth,
    cue: Option<Cue>,
    /// Cycles added to those since the song's start, so that a free rate can be changed without a step of the offset.
    pub(super) added_cycles: f64,
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
            depth: Depth::new(sample_rate),
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
        self.depth.reset();
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

    /// Plays the samples of the next chunk: moving deck minus fixed deck in seconds, and how much of the comb is heard, 0 to 1,
    /// go into the values.
    pub fn offsets(&mut self, count: usize, into: &mut Values<f64>, depths: &mut Values<f32>) {
        let now = self.now();
        let mut distances = CentreAndRange::default();
        self.follow_distances(count, &mut distances);
        self.count += count as i64;
        let CentreAndRange { centre, range } = &mut distances;
        let whole = self.depth.rests_whole(self.is_eased());
        *depths = Values::Resting(1.0);
        let travel = self.resting_travel(now, range).filter(|_| whole);
        if let (Some(travel), Values::Resting(centre)) = (travel, &*centre) {
            *into = Values::Resting((centre + travel).clamp(-FARTHEST_S, FARTHEST_S));
            return;
        }
        let distances = (&centre.each()[..count], &range.each()[..count]);
        self.play(now, distances, &mut into.each()[..count]);
        if !whole {
            self.ease(now, distances, &mut depths.each()[..count]);
        }
    }

    /// As [`offsets`](Self::offsets), where only the last of them is asked for.
    pub fn last_offset(&mut self, count: usize) -> f64 {
        let last = count - 1;
        let CourseSettings { motion, wobble, .. } = self.entries[0].settings;
        let whole = self.depth.rests_whole(self.is_eased());
        if motion == Motion::Drag || wobble != self.amounts || !whole {
            let (mut offsets_s, mut depths) = (Values::Resting(0.0), Values::Resting(1.0));
            self.offsets(count, &mut offsets_s, &mut depths);
            return offsets_s.at(last);
        }
        let now = self.now() + last as i64;
        let mut distances = CentreAndRange::default();
        self.follow_distances(count, &mut distances);
        self.count += count as i64;
        let CentreAndRange { centre, range } = &distances;
        let mut offset_s = [0.0];
        let distances = ([centre.at(last)], [range.at(last)]);
        self.play(now, (&distances.0, &distances.1), &mut offset_s);
        offset_s[0]
    }

    /// The sample that comes out next, counted as those that go in.
    fn now(&self) -> i64 {
        self.count - self.latency
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
            let before = self.entries.pop_front().expect("two of them");
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
    fn change(&mut self, old: &Entry<T>, entry: &Entry<T>) -> Continuity {
        let (before, after) = (&old.settings, &entry.settings);
        let old_pass = self.pass(old);
        if after.start && !before.start {
            self.cue = Some(Cue::at(&entry.position, after.pace));
        }
        if before.motion != after.motion {
            self.drag.reset();
        }
        let pace_continues = self.change_pace(before, entry);
        let breaks = match after.motion {
            Motion::Hand | Motion::Drag => false,
            Motion::Cycle => !pace_continues || before.curve != after.curve,
            Motion::Pass => {
                let seconds = (entry.at - old.at) as f64 * self.step_s;
                let reached = old.position.after(seconds);
                !old_pass.continues(&self.pass(entry), (&reached, &entry.position))
            }
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

    /// The pass that an entry asks for.
    pub(super) fn pass(&self, entry: &Entry<T>) -> Pass {
        Pass::new(&entry.settings, self.cue, &entry.position)
    }
}
