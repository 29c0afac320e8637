//! The VST3 that the host sees: the framework's, with buses, set-up and processing taken over.
//!
//! Promises the framework whole buffers and calls in an order that it stands. Called by the host through the factory; calls
//! the framework and, for the latency, the instance.

mod factory;
mod forward;
mod loading;

use super::buffers::{Buses, HostBus, Spare, silence};
use crate::instance::LatencyQuery;
use crate::instance::Plumbline;
use loading::Loading;
use nice_plug::wrapper::vst3::Wrapper;
use std::cell::UnsafeCell;
use std::ptr::null_mut;
use std::sync::atomic::{AtomicU8, AtomicU32, Ordering::Relaxed};
use vst3::Class;
use vst3::Steinberg::Vst::BusDirections_::kInput;
use vst3::Steinberg::Vst::ChannelContext::IInfoListener;
use vst3::Steinberg::Vst::MediaTypes_::kAudio;
use vst3::Steinberg::Vst::SpeakerArr::{kMono, kStereo};
use vst3::Steinberg::Vst::SymbolicSampleSizes_::kSample32;
use vst3::Steinberg::Vst::{
    AudioBusBuffers, AudioBusBuffers__type0, BusDirection, BusInfo, IAudioProcessor,
    IAudioProcessorTrait, IComponent, IComponentTrait, IEditController,
    IProcessContextRequirements, IUnitInfo, ProcessData, ProcessSetup, SpeakerArrangement,
};
use vst3::Steinberg::{TBool, int32, kInvalidArgument, kResultFalse, kResultOk, tresult, uint32};

type Framework = Wrapper<Plumbline>;

/// Index of the spot among the inputs.
const SPOT: int32 = 1;

/// One instance.
struct Guarded {
    framework: Framework,
    loading: Loading,
    /// Touched by `setActive` and by `process`: VST3 never calls both at once.
    spare: UnsafeCell<Spare>,
    /// Longest block, from `setupProcessing`.
    longest: AtomicU32,
    /// From `setProcessing`.
    processing: AtomicU8,
    /// Channels of the spot as the host has arranged it, which the framework may see otherwise.
    spot_channels: AtomicU32,
}

impl Class for Guarded {
    type Interfaces = (
        IComponent,
        IEditController,
        IAudioProcessor,
        IProcessContextRequirements,
        IUnitInfo,
        IInfoListener,
    );
}

impl Guarded {
    fn new() -> Self {
        let framework = Framework::new();
        Self {
            framework,
            loading: Loading::new(LatencyQuery::take()),
            spare: UnsafeCell::new(Spare::new(Buses::default(), 0)),
            longest: AtomicU32::new(0),
            processing: AtomicU8::new(0),
            spot_channels: AtomicU32::new(2),
        }
    }

    /// Makes the replacements for the layout and block length that the host has settled on.
    fn prepare(&self) {
        let buses = Buses {
            main: self.framework_channels(0),
            spot: self.framework_channels(SPOT),
        };
        let spare = Spare::new(buses, self.longest.load(Relaxed) as usize);
        // SAFETY: nothing processes while the plugin is being activated.
        unsafe { *self.spare.get() = spare };
    }

    /// Channels of one of the framework's inputs.
    fn framework_channels(&self, index: int32) -> usize {
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

    /// Runs the framework on the block with every buffer in place.
    ///
    /// # Safety
    ///
    /// The block's counts say what it points to.
    unsafe fn process_whole(&self, block: &ProcessData, frames: usize) -> tresult {
        // SAFETY: nothing activates while processing.
        let spare = unsafe { &mut *self.spare.get() };
        // SAFETY: as promised by the caller.
        let [main, spot, out] = unsafe {
            [
                bus(block.inputs, block.numInputs, 0),
                bus(block.inputs, block.numInputs, SPOT),
                bus(block.outputs, block.numOutputs, 0),
            ]
        };
        if frames > spare.longest() {
            // SAFETY: as promised by the caller.
            unsafe { silence(out, frames) };
            return kInvalidArgument;
        }
        let buses = spare.buses();
        // SAFETY: as promised by the caller; `frames` is within the longest block.
        let [main, spot, out] = unsafe {
            [
                spare.main_in(main),
                spare.spot_in(spot, frames),
                spare.main_out(out),
            ]
        };
        let mut inputs = [buffers(main, buses.main), buffers(spot, buses.spot)];
        let mut output = buffers(out, buses.main);
        let mut whole = ProcessData {
            numInputs: if buses.spot > 0 { 2 } else { 1 },
            numOutputs: 1,
            inputs: inputs.as_mut_ptr(),
            outputs: &mut output,
            ..*block
        };
        // SAFETY: the block is whole.
        unsafe { self.framework.process(&mut whole) }
    }
}

impl IAudioProcessorTrait for Guarded {
    /// The framework compares the spot's channels with the main bus's instead of the layout's, and so only knows
    /// buses of one width. It is given what it knows; a spot of the other width is adapted here.
    unsafe fn setBusArrangements(
        &self,
        inputs: *mut SpeakerArrangement,
        inputs_count: int32,
        outputs: *mut SpeakerArrangement,
        outputs_count: int32,
    ) -> tresult {
        if inputs.is_null() || outputs.is_null() || inputs_count < 1 || outputs_count < 1 {
            return kInvalidArgument;
        }
        // SAFETY: the host's counts say what it points to.
        let main = unsafe { *inputs };
        let spot = match inputs_count {
            1 => kStereo,
            // SAFETY: there is a second one.
            _ => unsafe { *inputs.add(1) },
        };
        if !(1..=2).contains(&spot.count_ones()) {
            return kResultFalse;
        }
        let mut known = [main; 2];
        // SAFETY: the framework reads two arrangements at most, as none of its layouts has more.
        let result = unsafe {
            let known = known.as_mut_ptr();
            self.framework
                .setBusArrangements(known, inputs_count, outputs, outputs_count)
        };
        if result == kResultOk {
            self.spot_channels.store(spot.count_ones(), Relaxed);
        }
        result
    }

    unsafe fn getBusArrangement(
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
            let mono = self.spot_channels.load(Relaxed) == 1;
            // SAFETY: the framework has written there.
            unsafe { *arrangement = if mono { kMono } else { kStereo } };
        }
        result
    }

    /// Twice: the framework hands the kind of render that was set the time before to the plugin.
    unsafe fn setupProcessing(&self, setup: *mut ProcessSetup) -> tresult {
        // SAFETY: the host's argument.
        let Some(asked) = (unsafe { setup.as_ref() }) else {
            return kInvalidArgument;
        };
        self.longest
            .store(asked.maxSamplesPerBlock.max(0) as u32, Relaxed);
        self.loading.set_rate(asked.sampleRate);
        // SAFETY: the host's argument.
        unsafe {
            self.framework.setupProcessing(setup);
            self.framework.setupProcessing(setup)
        }
    }

    unsafe fn process(&self, data: *mut ProcessData) -> tresult {
        // SAFETY: the host's argument.
        let Some(block) = (unsafe { data.as_ref() }) else {
            return kInvalidArgument;
        };
        if block.symbolicSampleSize != kSample32 as int32 {
            return kInvalidArgument;
        }
        let no_output = block.numOutputs < 1 || block.outputs.is_null();
        if !self.loading.admit_block() {
            // SAFETY: the host's counts say what the block points to.
            let out = unsafe { bus(block.outputs, block.numOutputs, 0) };
            // SAFETY: as above.
            unsafe { silence(out, block.numSamples.max(0) as usize) };
            return kResultOk;
        }
        match usize::try_from(block.numSamples) {
            Err(_) => kInvalidArgument,
            // SAFETY: without samples or outputs the framework only takes the parameters.
            Ok(frames) if frames == 0 || no_output => unsafe { self.flush(block) },
            Ok(frames) => {
                // SAFETY: there is an output.
                unsafe { (*block.outputs).silenceFlags = 0 };
                // SAFETY: the host's counts say what the block points to.
                unsafe { self.process_whole(block, frames) }
            }
        }
    }

    unsafe fn canProcessSampleSize(&self, size: int32) -> tresult {
        // SAFETY: plain data.
        unsafe { self.framework.canProcessSampleSize(size) }
    }

    unsafe fn getLatencySamples(&self) -> uint32 {
        // SAFETY: no arguments.
        unsafe { self.framework.getLatencySamples() }
    }

    unsafe fn setProcessing(&self, state: TBool) -> tresult {
        self.processing.store(state, Relaxed);
        // SAFETY: plain data.
        unsafe { self.framework.setProcessing(state) }
    }

    unsafe fn getTailSamples(&self) -> uint32 {
        // SAFETY: no arguments.
        unsafe { self.framework.getTailSamples() }
    }
}

impl Guarded {
    /// Parameters without audio.
    ///
    /// # Safety
    ///
    /// The block's parameter queues are valid.
    unsafe fn flush(&self, block: &ProcessData) -> tresult {
        // SAFETY: nothing activates while processing.
        if unsafe { &*self.spare.get() }.longest() == 0 {
            return kResultFalse;
        }
        let mut flush = ProcessData {
            numSamples: 0,
            numInputs: 0,
            numOutputs: 0,
            inputs: null_mut(),
            outputs: null_mut(),
            ..*block
        };
        // SAFETY: the block has no buffers.
        unsafe { self.framework.process(&mut flush) }
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

fn buffers(channels: *mut *mut f32, count: usize) -> AudioBusBuffers {
    AudioBusBuffers {
        numChannels: count as int32,
        silenceFlags: 0,
        __field0: AudioBusBuffers__type0 {
            channelBuffers32: channels,
        },
    }
}
