//! The moving deck's course: from settings and song position to one offset a sample, in time with the audio.

use std::collections::VecDeque;

use super::distances::Distances;
use super::drag::DragModel;
use super::motion::{Cue, Motion, Pace, cycles, pass_turns};
use super::pass::Pass;
use super::preview::DeckState;
use super::settings::{CourseSettings, FARTHEST_S};
use super::slew_limiter::SlewLimiter;
use super::song_clock::SongClock;
use super::song_position::{SongPosition, Transport};
use super::wobble::{Wobble, WobbleAmounts};
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::{GLIDE_S, toward};

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

/// Some samples of the course under the same settings. `T` is what else is automated; it is delayed with the settings.
#[derive(Clone, Copy, Debug)]
pub struct CourseChunk<T> {
    /// How many samples, 1 to `CHUNK`.
    pub count: usize,
    /// Moving deck minus fixed deck, seconds.
    pub offsets_s: [f64; CHUNK],
    /// How much of the comb is heard, 0 to 1.
    pub depths: [f32; CHUNK],
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
    /// How much of the comb is heard in the last sample; `None`: the next one begins where it is wanted.
    depth: Option<f64>,
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
            depth: None,
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
        self.depth = None;
    }

    /// The next samples of output, at most `most` of them. `push` must have been called before.
    pub fn next_chunk(&mut self, most: usize) -> CourseChunk<T> {
        let now = self.count - self.latency;
        let continuity = self.bring_into_force(now);
        let count = self.until_next(now).min(most).min(CHUNK);
        let (mut centre, mut range) = ([0.0; CHUNK], [0.0; CHUNK]);
        self.smooth(&mut centre[..count], &mut range[..count]);
        let (mut offsets_s, mut depths) = ([0.0; CHUNK], [1.0; CHUNK]);
        let distances = (&centre[..count], &range[..count]);
        self.travel(now, distances, &mut offsets_s[..count]);
        self.ease(now, distances, &mut depths[..count]);
        for (offset, centre) in offsets_s[..count].iter_mut().zip(&centre) {
            *offset = (centre + *offset).clamp(-FARTHEST_S, FARTHEST_S);
        }
        self.wobble(now, &mut offsets_s[..count]);
        self.count += count as i64;
        CourseChunk {
            count,
            offsets_s,
            depths,
            continuity,
            extra: self.entries[0].extra,
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
    fn smooth(&mut self, centre: &mut [f64], range: &mut [f64]) {
        let newest = self.entries.back().expect("push comes first").settings;
        self.distances.next(&newest, centre, range);
        if self.last_step == SongStep::Jumped {
            self.centre.jump(centre[0]);
            self.range.jump(range[0]);
            self.last_step = SongStep::Continued;
        }
        self.centre.follow_all(centre);
        self.range.follow_all(range);
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
    fn pass(&self, entry: &Entry<T>) -> Pass {
        Pass::new(&entry.settings, self.cue, &entry.position)
    }

    /// Fills `travel` with the distance from the centre, seconds.
    fn travel(&mut self, now: i64, distances: (&[f64], &[f64]), travel: &mut [f64]) {
        let ranges = distances.1;
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
                let pass = self.pass(&self.entries[0]);
                self.fill_at(now, travel, |position, n| {
                    pass_turns(pass.progress(&position, (distances.0[n], ranges[n])))
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

    /// How much of the comb is heard: as much as the pass wants, and no faster than a cross-fade.
    fn ease(&mut self, now: i64, (centres, ranges): (&[f64], &[f64]), depths: &mut [f32]) {
        let settings = self.entries[0].settings;
        let eased = settings.motion == Motion::Pass && settings.ease_bars > 0.0;
        let mut wanted = [1.0; CHUNK];
        if eased {
            let pass = self.pass(&self.entries[0]);
            self.fill_at(now, &mut wanted[..depths.len()], |position, n| {
                let progress = pass.progress(&position, (centres[n], ranges[n]));
                pass.depth(progress, &position)
            });
        } else if self.depth.is_none_or(|depth| depth == 1.0) {
            self.depth = Some(1.0);
            return;
        }
        let step = self.step_s / GLIDE_S;
        for (out, wanted) in depths.iter_mut().zip(wanted) {
            let depth = self.depth.map_or(wanted, |now| toward(now, wanted, step));
            self.depth = Some(depth);
            *out = depth as f32;
        }
    }

    /// Fills `out` with a function of each sample's position in the song.
    fn fill(&self, now: i64, out: &mut [f64], function: impl Fn(SongPosition) -> f64) {
        self.fill_at(now, out, |position, _| function(position));
    }

    /// The same where the function also asks which sample it is.
    fn fill_at(&self, now: i64, out: &mut [f64], function: impl Fn(SongPosition, usize) -> f64) {
        let entry = &self.entries[0];
        let first = (now - entry.at) as f64;
        for (n, out) in out.iter_mut().enumerate() {
            let late = (first + n as f64) * self.step_s;
            *out = function(entry.position.after(late), n);
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
