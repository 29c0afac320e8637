//! The audio side of a VST3: buses, set-up, blocks.

use super::block::{Blocks, HostBuses, SPOT};
use super::{Guarded, Relaxed, kInput, kInvalidArgument, kResultFalse, kResultOk};
use crate::guard::buffers::silence;
use crate::guard::in_real_time;
use vst3::Steinberg::Vst::SpeakerArr::{kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::SymbolicSampleSizes_::kSample32;
use vst3::Steinberg::Vst::{
    BusDirection, IAudioProcessorTrait, ProcessData, ProcessSetup, SpeakerArrangement,
};
use vst3::Steinberg::{TBool, int32, tresult, uint32};

impl IAudioProcessorTrait for Guarded {
    /// The framework compares the spot's channels with the main bus's instead of the layout's, and so only knows
    /// buses of one width; and it would lose the spot's bus for good with the first host that names one input. It is
    /// given what it knows; a spot of the other width, and an empty one, are adapted here.
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
            1 => self.spot_channels.load(Relaxed),
            // SAFETY: there is a second one.
            _ => unsafe { (*inputs.add(1)).count_ones() },
        };
        if spot > 2 || inputs_count > 2 {
            return kResultFalse;
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
        let Ok(frames) = usize::try_from(block.numSamples) else {
            return kInvalidArgument;
        };
        if block.symbolicSampleSize != kSample32 as int32 {
            return kInvalidArgument;
        }
        // SAFETY: the host's counts say what the block points to.
        let run = |blocks: &mut Blocks| unsafe { self.run(blocks, block, frames) };
        let result = in_real_time(|| {
            self.values.begin_block();
            self.blocks.with(run)
        });
        self.query.request_repaint();
        result.unwrap_or_else(|| {
            // Being activated: the host should not have called.
            // SAFETY: as above.
            unsafe { silence(HostBuses::of(block).out, frames) };
            kResultFalse
        })
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
        self.values.set_processing(state != 0);
        // SAFETY: plain data.
        unsafe { self.framework.setProcessing(state) }
    }

    unsafe fn getTailSamples(&self) -> uint32 {
        // SAFETY: no arguments.
        unsafe { self.framework.getTailSamples() }
    }
}

impl Guarded {
    /// # Safety
    ///
    /// The block's counts say what it points to.
    unsafe fn run(&self, blocks: &mut Blocks, block: &ProcessData, frames: usize) -> tresult {
        let no_output = block.numOutputs < 1 || block.outputs.is_null();
        let admitted = self.loading.admit_block();
        // SAFETY: as promised by the caller.
        unsafe {
            if frames == 0 || no_output || !admitted {
                blocks.flush(block, &self.values);
                silence(HostBuses::of(block).out, frames);
                return kResultOk;
            }
            (*block.outputs).silenceFlags = 0;
            blocks.process(block, frames, &self.values, |part| {
                self.framework.process(part)
            })
        }
    }
}
