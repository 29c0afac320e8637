//! The offset along the course: the travel of each motion, how much of the comb is heard, wow and flutter.

use super::course::{Course, Entry};
use super::motion::{Motion, cycles, pass_turns};
use super::settings::FARTHEST_S;
use super::song_position::SongPosition;
use super::values::Values;
use super::wobble::WobbleAmounts;
use crate::delay::delay_line::CHUNK;
use crate::math::ramp::toward;

/// The most wow or flutter that a parameter asks for, a weighted reading of 0.5 %.
const FULL_WOBBLE: f64 = 0.005;
/// Time in which wow or flutter goes from nothing to [`FULL_WOBBLE`]. Common practice, no source.
const WOBBLE_FADE_S: f64 = 0.5;

impl<T: Copy> Course<T> {
    /// Offsets of the samples from `now` on, with their centres and ranges.
    pub(super) fn play(&mut self, now: i64, distances: (&[f64], &[f64]), offsets_s: &mut [f64]) {
        offsets_s.fill(0.0);
        self.travel(now, distances, offsets_s);
        for (offset, centre) in offsets_s.iter_mut().zip(distances.0) {
            *offset = (centre + *offset).clamp(-FARTHEST_S, FARTHEST_S);
        }
        self.wobble(now, offsets_s);
    }

    /// Distance from the centre, seconds, while nothing but the centre can move.
    pub(super) fn resting_travel(&self, now: i64, range: &Values<f64>) -> Option<f64> {
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

    /// A pass that the comb comes and goes with.
    pub(super) fn is_eased(&self) -> bool {
        let settings = &self.entries[0].settings;
        settings.motion == Motion::Pass && settings.ease_bars > 0.0
    }

    /// How much of the comb is heard.
    pub(super) fn ease(
        &mut self,
        now: i64,
        (centres, ranges): (&[f64], &[f64]),
        depths: &mut [f32],
    ) {
        let mut wanted = [1.0; CHUNK];
        if self.is_eased() {
            let pass = self.pass(&self.entries[0]);
            self.fill_at(now, &mut wanted[..depths.len()], |position, n| {
                let progress = pass.progress(&position, (centres[n], ranges[n]));
                pass.depth(progress, &position)
            });
        }
        self.depth.follow(&wanted, depths);
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
