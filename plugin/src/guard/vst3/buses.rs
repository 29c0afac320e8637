//! The buses of a VST3: their widths as the host has arranged them, and which of them it has switched on.

use super::block::SPOT;
use super::{Guarded, Relaxed};
use crate::guard::switches::Bus;
use vst3::Steinberg::Vst::BusDirections_::{kInput, kOutput};
use vst3::Steinberg::Vst::MediaTypes_::kAudio;
use vst3::Steinberg::Vst::SpeakerArr::{kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::{
    BusDirection, BusInfo, IAudioProcessorTrait, IComponentTrait, MediaType, SpeakerArrangement,
};
use vst3::Steinberg::{TBool, int32, kInvalidArgument, kResultFalse, kResultOk, tresult};

impl Guarded {
    /// The framework compares the spot's channels with the main bus's instead of the layout's, and so only knows
    /// buses of one width; and it would lose the spot's bus for good with the first host that names one input. It is
    /// given what it knows; a spot of the other width, and an empty one, are adapted here. While the plugin is active
    /// nothing changes: the framework would take the new widths over with the next state that is loaded, and work on
    /// buffers of the old ones.
    ///
    /// # Safety
    ///
    /// The counts say what the host points to.
    pub(super) unsafe fn arrange(
        &self,
        inputs: (*mut SpeakerArrangement, int32),
        outputs: (*mut SpeakerArrangement, int32),
    ) -> tresult {
        let ((inputs, inputs_count), (outputs, outputs_count)) = (inputs, outputs);
        if inputs.is_null() || outputs.is_null() || inputs_count < 1 || outputs_count < 1 {
            return kInvalidArgument;
        }
        // SAFETY: the host's counts say what it points to.
        let (main, out) = unsafe { (*inputs, *outputs) };
        let spot = match inputs_count {
            1 => self.spot_channels.load(Relaxed),
            // SAFETY: there is a second one.
            _ => unsafe { (*inputs.add(1)).count_ones() },
        };
        if spot > 2 || inputs_count > 2 {
            return kResultFalse;
        }
        if self.active.load(Relaxed) {
            let now = self.framework_channels(0);
            let same = [main, out].map(|wide| wide.count_ones() as usize) == [now; 2];
            let same = same && spot == self.spot_channels.load(Relaxed) && outputs_count == 1;
            return if same { kResultOk } else { kResultFalse };
        }
        let mut known = [main; 2];
        // SAFETY: there are two.
        let result = unsafe {
            let known = known.as_mut_ptr();
            self.framework
                .setBusArrangements(known, 2, outputs, outputs_count)
        };
        if result == kResultOk {
            self.spot_channels.store(spot, Relaxed);
        }
        result
    }

    /// With the spot as wide as the host has arranged it.
    ///
    /// # Safety
    ///
    /// `arrangement` is null or the host's.
    pub(super) unsafe fn arrangement(
        &self,
        direction: BusDirection,
        index: int32,
        arrangement: *mut SpeakerArrangement,
    ) -> tresult {
        // SAFETY: the host's arguments.
        let result = unsafe {
            self.framework
                .getBusArrangement(direction, index, arrangement)
        };
        if result == kResultOk && (direction, index) == (kInput as int32, SPOT) {
            let spot = match self.spot_channels.load(Relaxed) {
                0 => kEmpty,
                1 => kMono,
                _ => kStereo,
            };
            // SAFETY: the framework has written there.
            unsafe { *arrangement = spot };
        }
        result
    }

    /// With the spot as wide as the host has arranged it.
    ///
    /// # Safety
    ///
    /// `info` is null or the host's.
    pub(super) unsafe fn bus_info(
        &self,
        media: MediaType,
        (direction, index): (BusDirection, int32),
        info: *mut BusInfo,
    ) -> tresult {
        // SAFETY: the host's arguments, for the framework to judge.
        let result = unsafe { self.framework.getBusInfo(media, direction, index, info) };
        let spot = (kAudio as int32, kInput as int32, SPOT);
        if result == kResultOk && (media, direction, index) == spot {
            // SAFETY: the framework has written there.
            unsafe { (*info).channelCount = self.spot_channels.load(Relaxed) as int32 };
        }
        result
    }

    /// The framework knows which buses there are, and takes no note of which are on.
    pub(super) fn switch(
        &self,
        media: MediaType,
        (direction, index): (BusDirection, int32),
        state: TBool,
    ) -> tresult {
        // SAFETY: plain data, for the framework to judge.
        let result = unsafe { self.framework.activateBus(media, direction, index, state) };
        let is_input = direction == kInput as int32;
        let known = is_input || direction == kOutput as int32;
        let index = u32::try_from(index).ok().filter(|_| known);
        let bus = index.and_then(|index| Bus::of(is_input, index));
        if let (true, Some(bus)) = (result == kResultOk && media == kAudio as int32, bus) {
            self.switches.set(bus, state != 0);
        }
        result
    }

    /// Channels of one of the framework's inputs.
    pub(super) fn framework_channels(&self, index: int32) -> usize {
        // SAFETY: plain data that the framework fills.
        let mut info: BusInfo = unsafe { std::mem::zeroed() };
        // SAFETY: `info` is valid.
        let result = unsafe {
            self.framework
                .getBusInfo(kAudio as int32, kInput as int32, index, &mut info)
        };
        match result == kResultOk {
            true => info.channelCount.max(0) as usize,
            false => 0,
        }
    }
}
