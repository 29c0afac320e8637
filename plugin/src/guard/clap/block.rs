//! One block of a CLAP host: every buffer in place, cut where a parameter or the transport changes.

use super::events::{Events, News};
use super::scale::Scaled;
use crate::guard::buffers::{self, Buses, HostBus, HostBuses, Spare};
use crate::guard::parameters::Parameters;
use crate::guard::switches::Switches;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::process::{
    CLAP_PROCESS_CONTINUE, CLAP_PROCESS_ERROR, CLAP_PROCESS_TAIL, clap_process, clap_process_status,
};
use std::ptr::{from_ref, null, null_mut};

/// What blocks are made whole with. Touched while activating and while processing.
pub(super) struct Blocks {
    spare: Spare,
    /// Hz.
    sample_rate: f64,
}

impl Blocks {
    /// Allocates for blocks of at most `longest` samples.
    pub fn new(buses: Buses, longest: usize, sample_rate: f64) -> Self {
        Self {
            spare: Spare::new(buses, longest),
            sample_rate,
        }
    }

    /// Runs `process` over the block, part by part.
    ///
    /// # Safety
    ///
    /// The block's counts say what it points to.
    pub unsafe fn process(
        &mut self,
        block: &clap_process,
        (parameters, switches): (&Parameters, &Switches),
        mut process: impl FnMut(&clap_process) -> clap_process_status,
    ) -> (clap_process_status, News) {
        let frames = block.frames_count as usize;
        // SAFETY: as promised by the caller.
        let mut events =
            unsafe { Events::new(block.in_events, block.transport, frames, parameters) };
        // SAFETY: as promised by the caller.
        let host = unsafe { host_buses(block) };
        if frames > self.spare.longest() {
            // SAFETY: as promised by the caller.
            unsafe { buffers::silence(host.out, frames) };
            return (CLAP_PROCESS_ERROR, events.finish());
        }
        // SAFETY: as promised by the caller; what comes out is not constant.
        unsafe { vary(block.audio_outputs, block.audio_outputs_count) };
        // SAFETY: as promised by the caller; `frames` is within the longest block.
        let channels = unsafe { self.spare.whole(host, switches, frames) };
        let buses = self.spare.buses();
        let scaled = Scaled::new(parameters, block.out_events);
        let mut status = CLAP_PROCESS_CONTINUE;
        let mut at = 0;
        while at < frames {
            let end = events.advance(at).unwrap_or(frames);
            let place = events.place(at, self.sample_rate);
            let part = clap_process {
                steady_time: steady(block.steady_time, at),
                frames_count: (end - at) as u32,
                transport: place.as_ref().map_or(null(), from_ref),
                in_events: null(),
                ..*block
            };
            let done = scaled.lend(|out_events| {
                let part = clap_process { out_events, ..part };
                // SAFETY: both are within the block.
                unsafe { run(part, channels, buses, at, &mut process) }
            });
            status = worst(status, done);
            at = end;
        }
        // SAFETY: as promised by the caller.
        unsafe { buffers::finish(host.out, switches, frames) };
        (status, events.finish())
    }
}

/// Runs `process` over a part of the block that begins at sample `at`.
///
/// # Safety
///
/// `channels`, main, spot and output, are as many as `buses` says and longer than `at` and the part together.
unsafe fn run(
    part: clap_process,
    channels: [*mut *mut f32; 3],
    buses: Buses,
    at: usize,
    process: &mut impl FnMut(&clap_process) -> clap_process_status,
) -> clap_process_status {
    let [ins, spots, outs] = channels;
    // SAFETY: as promised by the caller.
    let (mut ins, mut spots, mut outs) = unsafe {
        (
            buffers::later(ins, buses.main, at),
            buffers::later(spots, buses.spot, at),
            buffers::later(outs, buses.main, at),
        )
    };
    let inputs = [buffer(&mut ins, buses.main), buffer(&mut spots, buses.spot)];
    let mut output = buffer(&mut outs, buses.main);
    process(&clap_process {
        audio_inputs: inputs.as_ptr(),
        audio_inputs_count: if buses.spot > 0 { 2 } else { 1 },
        audio_outputs: &mut output,
        audio_outputs_count: 1,
        ..part
    })
}

/// An error anywhere is one; otherwise the last part counts. What the framework calls going on is a tail of known length:
/// a host that hears nothing may put the plugin to sleep after it.
fn worst(so_far: clap_process_status, now: clap_process_status) -> clap_process_status {
    match (so_far, now) {
        (CLAP_PROCESS_ERROR, _) => CLAP_PROCESS_ERROR,
        (_, CLAP_PROCESS_CONTINUE) => CLAP_PROCESS_TAIL,
        _ => now,
    }
}

/// The host's count of samples, if it counts.
fn steady(block: i64, at: usize) -> i64 {
    match block {
        0.. => block.saturating_add(at as i64),
        _ => block,
    }
}

/// One of the host's buses.
///
/// # Safety
///
/// `buffers` is null or points to `count` buffers.
unsafe fn bus(buffers: *const clap_audio_buffer, count: u32, index: u32) -> HostBus {
    if buffers.is_null() || index >= count {
        return HostBus::NONE;
    }
    // SAFETY: within `count`.
    let buffer = unsafe { &*buffers.add(index as usize) };
    HostBus {
        channels: buffer.data32,
        count: buffer.channel_count as usize,
    }
}

/// The buses of one block.
///
/// # Safety
///
/// The block's counts say what it points to.
unsafe fn host_buses(block: &clap_process) -> HostBuses {
    // SAFETY: as promised by the caller.
    unsafe {
        HostBuses {
            main: bus(block.audio_inputs, block.audio_inputs_count, 0),
            spot: bus(block.audio_inputs, block.audio_inputs_count, 1),
            out: bus(block.audio_outputs, block.audio_outputs_count, 0),
        }
    }
}

/// Takes back what the host may have left there about constant channels.
///
/// # Safety
///
/// `buffers` is null or points to `count` buffers.
unsafe fn vary(buffers: *mut clap_audio_buffer, count: u32) {
    if !buffers.is_null() && count > 0 {
        // SAFETY: within `count`.
        unsafe { (*buffers).constant_mask = 0 };
    }
}

fn buffer(channels: &mut [*mut f32], count: usize) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels.as_mut_ptr(),
        data64: null_mut(),
        channel_count: count as u32,
        latency: 0,
        constant_mask: 0,
    }
}

/// Silences the output of a block that comes while the plugin is being activated.
///
/// # Safety
///
/// The block's counts say what it points to.
pub(super) unsafe fn refuse(block: &clap_process) -> clap_process_status {
    // SAFETY: as promised by the caller.
    unsafe {
        let out = host_buses(block).out;
        buffers::silence(out, block.frames_count as usize);
    }
    CLAP_PROCESS_ERROR
}
