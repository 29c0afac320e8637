//! The audio side of a VST3: buses, set-up, blocks.

use super::block::{Blocks, host_buses};
use super::{Guarded, Relaxed, kInvalidArgument, kResultFalse, kResultOk};
use crate::guard::buffers::silence;
use crate::guard::in_real_time;
use vst3::Steinberg::Vst::SymbolicSampleSizes_::kSample32;
use vst3::Steinberg::Vst::{
    BusDirection, IAudioProcessorTrait, ProcessData, ProcessSetup, SpeakerArrangement,
};
use vst3::Steinberg::{TBool, int32, tresult, uint32};

impl IAudioProcessorTrait for Guarded {
    unsafe fn setBusArrangements(
        &self,
        inputs: *mut SpeakerArrangement,
        inputs_count: int32,
        outputs: *mut SpeakerArrangement,
        outputs_count: int32,
    ) -> tresult {
        // SAFETY: the host's counts say what it points to.
        unsafe { self.arrange((inputs, inputs_count), (outputs, outputs_count)) }
    }

    unsafe fn getBusArrangement(
        &self,
        direction: BusDirection,
        index: int32,
        arrangement: *mut SpeakerArrangement,
    ) -> tresult {
        // SAFETY: the host's argument.
        unsafe { self.arrangement(direction, index, arrangement) }
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
            unsafe { silence(host_buses(block).out, frames) };
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
                silence(host_buses(block).out, frames);
                return kResultOk;
            }
            (*block.outputs).silenceFlags = 0;
            let guard = (&*self.values, &self.switches);
            blocks.process(block, frames, guard, |part| self.framework.process(part))
        }
    }
}
