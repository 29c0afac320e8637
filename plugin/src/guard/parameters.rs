//! The parameters by the numbers that both formats know them by.

use nice_plug::params::internals::ParamPtr;
use nice_plug::params::{ParamFlags, Params};
use std::sync::Arc;

/// Every parameter of one instance.
pub struct Parameters {
    /// Keeps what the pointers point to.
    _owner: Option<Arc<dyn Params>>,
    /// By rising number.
    list: Vec<(u32, ParamPtr)>,
}

impl Parameters {
    pub fn new(owner: Option<Arc<dyn Params>>) -> Self {
        let map = owner
            .as_ref()
            .map_or_else(Vec::new, |owner| owner.param_map());
        let numbered = |(id, pointer, _): (String, ParamPtr, String)| (number(&id), pointer);
        let mut list: Vec<_> = map.into_iter().map(numbered).collect();
        list.sort_by_key(|&(number, _)| number);
        Self {
            _owner: owner,
            list,
        }
    }

    pub fn count(&self) -> usize {
        self.list.len()
    }

    /// Where a number is in the list.
    pub fn index(&self, number: u32) -> Option<usize> {
        self.list
            .binary_search_by_key(&number, |&(number, _)| number)
            .ok()
    }

    /// The number of a parameter that the window names.
    pub fn number_of(&self, pointer: ParamPtr) -> Option<u32> {
        let found = self.list.iter().find(|&&(_, other)| other == pointer);
        found.map(|&(number, _)| number)
    }

    /// Sets a value between 0 and 1, clamped; true when it is another one than before. Wait-free.
    pub fn set(&self, index: usize, normalized: f32) -> bool {
        let Some(&(_, pointer)) = self.list.get(index) else {
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
        let Some(&(_, pointer)) = self.list.get(index) else {
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
        let &(_, pointer) = self.list.get(index)?;
        // SAFETY: the owner is alive.
        Some(unsafe { pointer.unmodulated_normalized_value() })
    }

    /// Only what is continuous and may be automated.
    pub fn can_be_modulated(&self, index: usize) -> bool {
        let free = |&(_, pointer): &(u32, ParamPtr)| {
            let fixed = ParamFlags::NON_AUTOMATABLE | ParamFlags::HIDDEN;
            // SAFETY: the owner is alive.
            unsafe { pointer.step_count().is_none() && !pointer.flags().intersects(fixed) }
        };
        self.list.get(index).is_some_and(free)
    }

    /// A choice between names.
    pub fn is_choice(&self, index: usize) -> bool {
        matches!(self.list.get(index), Some((_, ParamPtr::EnumParam(_))))
    }

    /// Steps of a choice or switch; `None` for a continuous one.
    pub fn steps(&self, index: usize) -> Option<usize> {
        let &(_, pointer) = self.list.get(index)?;
        // SAFETY: the owner is alive.
        unsafe { pointer.step_count() }
    }
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
