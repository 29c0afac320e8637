//! One block of a VST3 host: every buffer in place, cut where a parameter changes.

use super::automation::Automation;
use super::song;
use super::values::Values;
use crate::guard::buffers::{self, Buses, HostBus, HostBuses, Spare};
use crate::guard::switches::Switches;
use vst3::Steinberg::Vst::{AudioBusBuffers, AudioBusBuffers__type0, ProcessContext, ProcessData};
use vst3::Steinberg::{int32, kInvalidArgument, kResultOk, tresult};

/// Index of the spot among the inputs.
pub(super) const SPOT: int32 = 1;

/// What blocks are made whole with. Touched by `setActive` and by `process`.
pub(super) struct Blocks {
    spare: Spare,
    automation: Automation,
    /// Hz.
    sample_rate: f64,
}

/// The buses of one block.
///
/// # Safety
///
/// The block's counts say what it points to.
pub(super) unsafe fn host_buses(block: &ProcessData) -> HostBuses {
    // SAFETY: as promised by the caller.
    unsafe {
        HostBuses {
            main: bus(block.inputs, block.numInputs, 0),
            spot: bus(block.inputs, block.numInputs, SPOT),
            out: bus(block.outputs, block.numOutputs, 0),
        }
    }
}

impl Blocks {
    /// Allocates for blocks of at most `longest` samples.
    pub fn new(buses: Buses, longest: usize, sample_rate: f64) -> Self {
        Self {
            spare: Spare::new(buses, longest),
            automation: Automation::new(),
            sample_rate,
        }
    }

    /// Takes the parameters of a block that has no audio.
    ///
    /// # Safety
    ///
    /// The block's parameter queues are valid.
    pub unsafe fn flush(&mut self, block: &ProcessData, values: &Values) {
        // SAFETY: as promised by the caller.
        unsafe {
            self.automation
                .begin(block.inputParameterChanges, usize::MAX, values);
            self.automation.finish(values);
        }
    }

    /// Runs `process` over the block, part by part.
    ///
    /// # Safety
    ///
    /// The block's counts say what it points to; it has `frames` samples and an output.
    pub unsafe fn process(
        &mut self,
        block: &ProcessData,
        frames: usize,
        (values, switches): (&Values, &Switches),
        mut process: impl FnMut(&mut ProcessData) -> tresult,
    ) -> tresult {
        // SAFETY: as promised by the caller.
        let host = unsafe { host_buses(block) };
        if frames > self.spare.longest() {
            // SAFETY: as promised by the caller.
            unsafe {
                self.flush(block, values);
                buffers::silence(host.out, frames);
            }
            return kInvalidArgument;
        }
        // SAFETY: as promised by the caller; `frames` is within the longest block.
        let channels = unsafe { self.spare.whole(host, switches, frames) };
        let whole = Whole {
            block,
            channels,
            buses: self.spare.buses(),
            sample_rate: self.sample_rate,
        };
        let mut result = kResultOk;
        let mut at = 0;
        // SAFETY: as promised by the caller.
        unsafe {
            self.automation
                .begin(block.inputParameterChanges, frames, values);
            while at < frames {
                let next = self.automation.advance(at, frames, values);
                let end = next.unwrap_or(frames);
                result = whole.part(at, end, &mut process);
                at = end;
            }
            self.automation.finish(values);
            buffers::finish(host.out, switches, frames);
        }
        result
    }
}

/// A block with every buffer in place.
struct Whole<'a> {
    block: &'a ProcessData,
    /// Main, spot, output.
    channels: [*mut *mut f32; 3],
    buses: Buses,
    /// Hz.
    sample_rate: f64,
}

impl Whole<'_> {
    /// Runs `process` over the samples from `at` to `end`.
    ///
    /// # Safety
    ///
    /// Both are within the block, `at` before `end`.
    unsafe fn part(
        &self,
        at: usize,
        end: usize,
        process: &mut impl FnMut(&mut ProcessData) -> tresult,
    ) -> tresult {
        let Buses { main, spot } = self.buses;
        let [ins, spots, outs] = self.channels;
        // SAFETY: every channel is as long as the block.
        let (mut ins, mut spots, mut outs) = unsafe {
            (
                buffers::later(ins, main, at),
                buffers::later(spots, spot, at),
                buffers::later(outs, main, at),
            )
        };
        let mut inputs = [bus_of(&mut ins, main), bus_of(&mut spots, spot)];
        let mut output = bus_of(&mut outs, main);
        let mut place = self.place(at);
        let mut part = ProcessData {
            numSamples: (end - at) as int32,
            numInputs: if spot > 0 { 2 } else { 1 },
            numOutputs: 1,
            inputs: inputs.as_mut_ptr(),
            outputs: &mut output,
            inputParameterChanges: std::ptr::null_mut(),
            inputEvents: std::ptr::null_mut(),
            processContext: place
                .as_mut()
                .map_or(std::ptr::null_mut(), std::ptr::from_mut),
            ..*self.block
        };
        process(&mut part)
    }

    /// Where the song is at sample `at`.
    fn place(&self, at: usize) -> Option<ProcessContext> {
        // SAFETY: null or the host's.
        let context = unsafe { self.block.processContext.as_ref() }?;
        Some(song::later(context, at, self.sample_rate))
    }
}

/// One of the host's buses.
///
/// # Safety
///
/// `buffers` is null or points to `count` buffers.
unsafe fn bus(buffers: *const AudioBusBuffers, count: int32, index: int32) -> HostBus {
    if buffers.is_null() || index >= count {
        return HostBus::NONE;
    }
    // SAFETY: within `count`; a 32-bit block has 32-bit buffers.
    unsafe {
        let bus = &*buffers.add(index as usize);
        HostBus {
            channels: bus.__field0.channelBuffers32,
            count: bus.numChannels.max(0) as usize,
        }
    }
}

fn bus_of(channels: &mut [*mut f32], count: usize) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: count as int32,
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels.as_mut_ptr(),
        },
    }
}
