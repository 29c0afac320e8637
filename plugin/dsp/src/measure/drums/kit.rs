//! The strokes that are kept and the drums they were sorted into.

use crate::math::shifted_dot::{overlap, shifted_dot};
use crate::measure::drums::naming::Features;
use crate::measure::drums::sorting::Sorting;
use crate::measure::hit::stroke::{Stroke, power};
use crate::measure::hit::window::Window;
use crate::measurement::MAX_DRUMS;

/// Strokes this much alike in their bodies may be one recording played twice ...
const MAY_REPEAT: f32 = 0.98;
/// ... and are, when their audio is: two strokes of a drummer correlate by 0.9 (own measurement).
const REPEATED: f32 = 0.998;
/// A repeated stroke is found within so many samples of the same place.
const FOUND_WITHIN_S: f64 = 0.0005;

/// A drum of no more strokes than this may be chance.
const STRAY: usize = 2;

/// A set of slots.
pub(crate) type Slots = u64;

/// Where a stroke is kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kept {
    /// In this slot, which may have held another.
    Fresh(usize),
    /// It is the recording that this slot holds, played once more: it says nothing new.
    Repeated(usize),
}

/// A drum as it stands.
#[derive(Clone, Copy, Debug)]
pub(crate) struct KitDrum {
    pub number: u8,
    /// Strokes heard, also those that are no longer kept.
    pub hits: u32,
    pub features: Features,
    pub slots: Slots,
}

/// Kept strokes, allocated once.
pub(crate) struct Kit {
    window: Window,
    strokes: Vec<Stroke>,
    sorting: Sorting,
    orders: u64,
    /// Strokes of each drum that were heard and are no longer kept, by its number.
    gone: [u32; 256],
}

impl Kit {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            strokes: (0..window.strokes).map(|_| Stroke::new(&window)).collect(),
            sorting: Sorting::new(&window),
            orders: 0,
            gone: [0; 256],
            window,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.sorting.clear();
        self.orders = 0;
        self.gone.fill(0);
    }

    /// Keeps the stroke that `fill` writes; nothing when `fill` refuses.
    pub(crate) fn keep(&mut self, fill: impl FnOnce(&mut Stroke) -> bool) -> Option<Kept> {
        let slot = self.free_slot();
        let stroke = &mut self.strokes[slot];
        if !fill(stroke) {
            return None;
        }
        stroke.order = self.orders;
        self.orders += 1;
        self.sorting.add(&self.strokes, slot);
        self.follow(slot);
        if let Some(other) = self.repeated(slot) {
            self.sorting.remove(slot);
            return Some(Kept::Repeated(other));
        }
        Some(Kept::Fresh(slot))
    }

    /// A free slot, or one whose stroke goes: the oldest of those that are like no other when they fill a quarter of the room,
    /// else the oldest of the drum with most.
    fn free_slot(&mut self) -> usize {
        let all = 0..self.strokes.len();
        if let Some(free) = all.clone().find(|slot| self.sorting.group(*slot).is_none()) {
            return free;
        }
        let hits = |slot: &usize| {
            let group = self.sorting.group(*slot).unwrap_or_default();
            self.sorting.slots(group).count()
        };
        let order = |slot: &usize| self.strokes[*slot].order;
        let stray = |slot: &usize| hits(slot) <= STRAY;
        let strays = all.clone().filter(stray).count();
        let goes = if strays > self.strokes.len() / 4 {
            all.filter(stray).min_by_key(order)
        } else {
            all.max_by_key(|slot| (hits(slot), u64::MAX - order(slot)))
        };
        let slot = goes.unwrap_or(0);
        if let Some(group) = self.sorting.group(slot) {
            self.gone[usize::from(group)] += 1;
        }
        self.sorting.remove(slot);
        slot
    }

    /// The count of a drum that has no stroke left goes to the newest stroke's: its last ones were sorted there, or made room.
    fn follow(&mut self, slot: usize) {
        let newest = self.sorting.group(slot).map_or(0, usize::from);
        for number in 0..=u8::MAX {
            let place = usize::from(number);
            if self.gone[place] > 0 && self.sorting.slots(number).next().is_none() {
                self.gone[newest] += std::mem::take(&mut self.gone[place]);
            }
        }
    }

    /// Another kept stroke that is the same recording.
    fn repeated(&self, slot: usize) -> Option<usize> {
        let group = self.sorting.group(slot)?;
        let mut others = self.sorting.slots(group).filter(|other| *other != slot);
        others.find(|other| {
            self.sorting.alike(slot, *other) > MAY_REPEAT
                && self.same(&self.strokes[slot], &self.strokes[*other])
        })
    }

    fn same(&self, a: &Stroke, b: &Stroke) -> bool {
        let reach = self.window.samples(FOUND_WITHIN_S) as isize;
        let alike = |channel: usize| {
            let (x, y) = (&a.audio[channel], &b.audio[channel]);
            let height = |lag: isize| shifted_dot(x, y, lag);
            let highest = (-reach..=reach).max_by(|a, b| height(*a).total_cmp(&height(*b)));
            let (x, y) = overlap(x, y, highest.unwrap_or(0));
            let norm = (power(x) * power(y)).sqrt() as f32 * x.len() as f32;
            norm <= 1e-12 || shifted_dot(x, y, 0) > REPEATED * norm
        };
        (0..2).all(alike)
    }

    pub(crate) fn stroke(&self, slot: usize) -> &Stroke {
        &self.strokes[slot]
    }

    /// Number of the drum that a stroke was sorted to.
    pub(crate) fn drum_of(&self, slot: usize) -> Option<u8> {
        self.sorting.group(slot)
    }

    pub(crate) fn slots(&self, number: u8) -> impl Iterator<Item = usize> + Clone + '_ {
        self.sorting.slots(number)
    }

    /// The drums with most hits, at most [`MAX_DRUMS`], `kept` among them if it has any; most hits first.
    pub(crate) fn drums(&self, kept: Option<u8>) -> ([Option<KitDrum>; MAX_DRUMS], usize) {
        let mut numbers = [(0usize, 0u8); MAX_DRUMS];
        let mut count = 0;
        for number in 0..=u8::MAX {
            let hits = self.slots(number).count();
            let hits = if Some(number) == kept && hits > 0 {
                hits + 1000
            } else {
                hits
            };
            if hits == 0 {
                continue;
            }
            let place = numbers[..count].iter().position(|other| other.0 < hits);
            let place = place.unwrap_or(count);
            if place < MAX_DRUMS {
                count = (count + 1).min(MAX_DRUMS);
                numbers[place..count].rotate_right(1);
                numbers[place] = (hits, number);
            }
        }
        let drum = |place: usize| (place < count).then(|| self.drum(numbers[place].1));
        (std::array::from_fn(drum), count)
    }

    fn drum(&self, number: u8) -> KitDrum {
        let strokes = self.slots(number).map(|slot| &self.strokes[slot]);
        let features = Features::of(strokes);
        KitDrum {
            number,
            hits: features.hits as u32 + self.gone[usize::from(number)],
            features,
            slots: self.slots(number).fold(0, |set, slot| set | 1 << slot),
        }
    }
}
