//! The parameters by the numbers that both formats know them by.

use nice_plug::params::internals::ParamPtr;
use nice_plug::params::{ParamFlags, Params};
use std::sync::Arc;

/// A parameter with a point at every sample is followed in steps of so many samples, each of them a point that the host
/// has drawn: 0.7 ms at 48 kHz, where the decks join the points of a line and round its corners over 4 ms, and delays and
/// levels glide for 20 ms. The part of a block between two points costs as much as 64 samples.
pub const DENSEST_POINTS: usize = 32;

/// A point on a dense line that has fewer samples of the block behind it counts from the next block on: a part so short
/// would cost as much as the whole block, for a line that is 0.1 ms late.
pub const SHORTEST_PART: usize = 8;

/// Places where a number is looked up: several times as many as there are parameters.
const PLACES: usize = 256;

/// Every parameter of one instance.
pub struct Parameters {
    /// Keeps what the pointers point to.
    _owner: Option<Arc<dyn Params>>,
    /// By rising number.
    list: Vec<Entry>,
    /// Index by number, each at its place or at the next free one.
    places: [Option<u8>; PLACES],
}

/// What is asked about a parameter in every block, known beforehand.
struct Entry {
    number: u32,
    pointer: ParamPtr,
    /// Steps of a choice or switch; `None` for a continuous one.
    steps: Option<usize>,
    /// See [`Parameters::is_line`].
    is_line: bool,
}

impl Entry {
    /// # Safety
    ///
    /// The pointer's parameter is alive.
    unsafe fn new(number: u32, pointer: ParamPtr) -> Self {
        let fixed = ParamFlags::NON_AUTOMATABLE | ParamFlags::HIDDEN;
        // SAFETY: as promised by the caller.
        let (steps, flags) = unsafe { (pointer.step_count(), pointer.flags()) };
        Self {
            number,
            pointer,
            steps,
            is_line: steps.is_none() && !flags.intersects(fixed),
        }
    }
}

impl Parameters {
    pub fn new(owner: Option<Arc<dyn Params>>) -> Self {
        let map = owner
            .as_ref()
            .map_or_else(Vec::new, |owner| owner.param_map());
        // SAFETY: the owner is alive.
        let entry = |(id, pointer, _): (String, ParamPtr, String)| unsafe {
            Entry::new(number(&id), pointer)
        };
        let mut list: Vec<_> = map.into_iter().map(entry).collect();
        list.sort_by_key(|entry| entry.number);
        let places = places(&list);
        Self {
            _owner: owner,
            list,
            places,
        }
    }

    pub fn count(&self) -> usize {
        self.list.len()
    }

    /// Where a number is in the list.
    pub fn index(&self, number: u32) -> Option<usize> {
        let start = place(number);
        let places = (start..start + PLACES).map(|at| self.places[at % PLACES]);
        let mut taken = places.map_while(|index| index.map(usize::from));
        taken.find(|index| self.list[*index].number == number)
    }

    /// The number at a place of the list.
    pub fn number(&self, index: usize) -> Option<u32> {
        self.list.get(index).map(|entry| entry.number)
    }

    /// The number of a parameter that the window names.
    pub fn number_of(&self, pointer: ParamPtr) -> Option<u32> {
        let found = self.list.iter().find(|entry| entry.pointer == pointer);
        found.map(|entry| entry.number)
    }

    /// Sets a value between 0 and 1, clamped; true when it is another one than before. Wait-free.
    pub fn set(&self, index: usize, normalized: f32) -> bool {
        let Some(&Entry { pointer, .. }) = self.list.get(index) else {
            return false;
        };
        if !normalized.is_finite() {
            return false;
        }
        // SAFETY: the owner is alive.
        unsafe { pointer._internal_set_normalized_value(normalized.clamp(0.0, 1.0)) }
    }

    /// Adds an offset of the range 0 to 1 to what the ear hears; true when it is another one than before. Wait-free.
    pub fn modulate(&self, index: usize, offset: f32) -> bool {
        let Some(&Entry { pointer, .. }) = self.list.get(index) else {
            return false;
        };
        if !offset.is_finite() {
            return false;
        }
        // SAFETY: the owner is alive.
        unsafe { pointer._internal_modulate_value(offset) }
    }

    /// The value between 0 and 1, without modulation.
    pub fn value(&self, index: usize) -> Option<f32> {
        let pointer = self.list.get(index)?.pointer;
        // SAFETY: the owner is alive.
        Some(unsafe { pointer.unmodulated_normalized_value() })
    }

    /// In the parameter's unit, or the number of a step; of a value between 0 and 1.
    pub fn plain(&self, index: usize, normalized: f32) -> Option<f64> {
        let entry = self.list.get(index)?;
        Some(match entry.steps {
            Some(steps) => f64::from(normalized) * steps as f64,
            // SAFETY: the owner is alive.
            None => unsafe { entry.pointer.preview_plain(normalized) }.into(),
        })
    }

    /// The value between 0 and 1 of one in the parameter's unit, or of the number of a step; clamped.
    pub fn normalized(&self, index: usize, plain: f64) -> Option<f32> {
        let entry = self.list.get(index)?;
        let normalized = match entry.steps {
            Some(steps) => (plain / steps.max(1) as f64) as f32,
            // SAFETY: the owner is alive.
            None => unsafe { entry.pointer.preview_normalized(plain as f32) },
        };
        normalized.is_finite().then(|| normalized.clamp(0.0, 1.0))
    }

    /// The default, between 0 and 1.
    pub fn default_value(&self, index: usize) -> Option<f32> {
        let pointer = self.list.get(index)?.pointer;
        // SAFETY: the owner is alive.
        Some(unsafe { pointer.default_normalized_value() })
    }

    /// Continuous, and a host may automate it. Only this can be modulated; a point of it may be left out when the next one
    /// is close, as one of a switch may not, which may be a trigger.
    pub fn is_line(&self, index: usize) -> bool {
        self.list.get(index).is_some_and(|entry| entry.is_line)
    }

    /// A choice between names.
    pub fn is_choice(&self, index: usize) -> bool {
        let entry = self.list.get(index);
        entry.is_some_and(|entry| matches!(entry.pointer, ParamPtr::EnumParam(_)))
    }

    /// Steps of a choice or switch; `None` for a continuous one.
    pub fn steps(&self, index: usize) -> Option<usize> {
        self.list.get(index)?.steps
    }
}

/// Where a number is looked for first (Knuth's multiplicative hash).
fn place(number: u32) -> usize {
    number.wrapping_mul(0x9E37_79B1) as usize >> 24
}

/// Every entry at its place, or at the next free one.
fn places(list: &[Entry]) -> [Option<u8>; PLACES] {
    let mut places = [None; PLACES];
    for (index, entry) in (0..=u8::MAX).zip(list) {
        let start = place(entry.number);
        let free = (start..start + PLACES).find(|at| places[at % PLACES].is_none());
        if let Some(free) = free {
            places[free % PLACES] = Some(index);
        }
    }
    places
}

/// The number that the framework makes of an id: 31 times the number so far plus the byte, without the top bit, which
/// VST3 keeps for hosts.
fn number(id: &str) -> u32 {
    let next = |hash: u32, byte: u8| hash.wrapping_mul(31).wrapping_add(byte.into());
    id.bytes().fold(0, next) & 0x7fff_ffff
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::instance::Plumbline;
    use nice_plug::plugin::Plugin;
    use nice_plug::wrapper::vst3::Wrapper;
    use vst3::Steinberg::Vst::{IEditControllerTrait, ParameterInfo};

    #[test]
    fn every_number_is_found_and_no_other() {
        let plugin = Plumbline::default();
        let parameters = Parameters::new(Some(plugin.params()));
        for index in 0..parameters.count() {
            let number = parameters.number(index).unwrap();
            assert_eq!(parameters.index(number), Some(index));
            assert_eq!(parameters.index(number ^ 0x4000_0000), None);
        }
    }

    #[test]
    fn numbers_are_those_of_the_framework() {
        let framework = Wrapper::<Plumbline>::new();
        let plugin = Plumbline::default();
        for (index, (id, ..)) in plugin.params().param_map().into_iter().enumerate() {
            // SAFETY: plain data that the framework fills.
            let mut info: ParameterInfo = unsafe { std::mem::zeroed() };
            // SAFETY: `info` is valid.
            unsafe { framework.getParameterInfo(index as i32, &mut info) };
            assert_eq!(info.id, number(&id), "{id}");
        }
    }
}
