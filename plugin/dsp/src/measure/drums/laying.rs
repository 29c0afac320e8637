//! Lays a drum's hits over each other, finds the fronts that they share, and picks each hit's fronts there.

use super::Drums;
use crate::channels::{Inputs, SPOT};
use crate::math::robust::{gather, median};
use crate::measure::hit::kept::{KeptHit, MAX_HITS};
use crate::measure::hit::picks::{self, pick_near};

/// A place is looked at again when it has moved by more than half the time looked before.
const MOVED_S: f64 = 0.000_25;
/// Hits are laid over each other by fronts that stand 26 dB above what was heard before them: a drum's own in its own
/// microphone, and hardly ever a hat's.
const CLEAR: f64 = 20.0;
/// A hard stroke's body comes up to so much sooner after its front than a soft one's (kicks: own measurement).
const SOONER_S: f64 = 0.001;
impl Drums {
    /// Lays a voice's hits over one of them.
    pub(super) fn lay(&mut self, voice: u8) {
        let standing = &mut self.voices[usize::from(voice)];
        let is_base = |hit: &KeptHit| hit.voice == voice && hit.order == standing.base;
        let newest = || self.kept.iter().rposition(|hit| hit.voice == voice);
        let Some(base) = self.kept.iter().position(is_base).or_else(newest) else {
            return;
        };
        standing.base = self.kept[base].order;
        let middle = standing.middle;
        let reference = self.reference();
        let look = self.window.search_ranges[reference];
        let at = 0.5 * (look[0] + look[1]) as f64;
        for n in 0..self.kept.len() {
            let known = self.kept[n].laid_on == Some(self.kept[base].order);
            if self.kept[n].voice == voice && !known {
                let (one, other) = (&self.kept[base], &self.kept[n]);
                let later = self.common_front.shift(one, other, reference, at);
                self.kept[n].laid_on = Some(self.kept[base].order);
                self.kept[n].later = later;
                self.kept[n].shift = later - middle;
            }
        }
    }

    /// The base may be the odd one: shifts count from the middle. Finds the voice's common fronts.
    pub(super) fn centre(&mut self, voice: u8) {
        let mut later = [0.0; MAX_HITS];
        let count = gather(self.members(voice).map(|hit| hit.later), &mut later);
        let middle = median(&mut later[..count]).unwrap_or(0.0);
        for hit in self.kept.iter_mut().filter(|hit| hit.voice == voice) {
            hit.shift = hit.later - middle;
        }
        self.voices[usize::from(voice)].middle = middle;
        self.find_pattern(voice);
        if self.inputs != Inputs::Pair && self.lay_by_fronts(voice) {
            self.find_pattern(voice);
        }
    }

    fn find_pattern(&mut self, voice: u8) {
        let members = self.kept.iter().filter(|hit| hit.voice == voice);
        let pattern = self
            .common_front
            .pattern(members, &self.window.search_ranges);
        self.voices[usize::from(voice)].pattern = pattern;
    }

    /// A hard stroke's body comes sooner after its front than a soft one's: where most hits have a clear front in the spot,
    /// these are laid over each other instead. Has it been done?
    fn lay_by_fronts(&mut self, voice: u8) -> bool {
        let Some(front) = self.voices[usize::from(voice)].pattern[SPOT] else {
            return false;
        };
        for hit in self.kept.iter_mut().filter(|hit| hit.voice == voice) {
            let place = front + hit.shift;
            let seen = |before: f64| (place - before).abs() <= MOVED_S * self.rate;
            if !hit.begin_looked_at.is_some_and(seen) {
                hit.begin_looked_at = Some(place);
                let picks = pick_near(&mut self.picker, &hit.audio[SPOT], place, self.rate);
                hit.begin = picks::front(&picks).filter(|_| picks::clear(&picks) >= CLEAR);
            }
        }
        let mut later = [0.0; MAX_HITS];
        let begins = self.members(voice);
        let begins = begins.filter_map(|hit| Some(hit.begin? - hit.shift));
        let count = gather(begins, &mut later);
        if 2 * count <= self.members(voice).count() {
            return false;
        }
        let middle = median(&mut later[..count]).unwrap_or(0.0);
        for hit in self.kept.iter_mut().filter(|hit| hit.voice == voice) {
            let begin = hit.begin.map(|begin| begin - middle);
            let own = begin.filter(|begin| (begin - hit.shift).abs() <= SOONER_S * self.rate);
            hit.shift = own.unwrap_or(hit.shift);
        }
        true
    }

    /// Picks a voice's fronts where its hits agree that they lie.
    pub(super) fn pick(&mut self, voice: u8) {
        let pattern = self.voices[usize::from(voice)].pattern;
        for hit in self.kept.iter_mut().filter(|hit| hit.voice == voice) {
            for (channel, front) in pattern.iter().enumerate() {
                let place = front.map(|front| front + hit.shift);
                let moved = match (place, hit.looked_at[channel]) {
                    (Some(place), Some(before)) => (place - before).abs() > MOVED_S * self.rate,
                    (place, before) => place.is_some() || before.is_some(),
                };
                if moved {
                    let audio = &hit.audio[channel];
                    let picks =
                        place.map(|place| pick_near(&mut self.picker, audio, place, self.rate));
                    hit.looked_at[channel] = place;
                    hit.picks[channel] = picks.unwrap_or_default();
                }
            }
        }
    }
}
