//! CLAP: buffers that are null, too few or not there at all, in place, and side chains of another width.

use crate::buffers::pointers::{Audio, BLOCK, side_chains};
use crate::library::open;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process};
use plumbline_hosting::{Instance, Layout, Session, noise};
use std::ptr::{null, null_mut};

pub fn bus(channels: &mut [*mut f32]) -> clap_audio_buffer {
    buffer(channels.as_mut_ptr(), channels.len())
}

fn buffer(channels: *mut *mut f32, count: usize) -> clap_audio_buffer {
    clap_audio_buffer {
        data32: channels,
        data64: null_mut(),
        channel_count: count as u32,
        latency: 0,
        constant_mask: 0,
    }
}

/// Processes one block of whatever the buses point to.
pub fn process(
    instance: &Instance,
    frames: usize,
    inputs: &[clap_audio_buffer],
    outputs: &mut [clap_audio_buffer],
) -> i32 {
    let block = clap_process {
        steady_time: -1,
        frames_count: frames as u32,
        transport: null(),
        audio_inputs: if inputs.is_empty() {
            null()
        } else {
            inputs.as_ptr()
        },
        audio_outputs: if outputs.is_empty() {
            null_mut()
        } else {
            outputs.as_mut_ptr()
        },
        audio_inputs_count: inputs.len() as u32,
        audio_outputs_count: outputs.len() as u32,
        in_events: null(),
        out_events: null(),
    };
    let plugin = instance.raw();
    // SAFETY: the counts are those of the slices, and what they point to is the test's promise.
    unsafe { plugin.process.unwrap()(plugin, &block) }
}

#[test]
fn a_side_chain_that_is_null_short_or_left_out_is_silence() {
    let (mut spot, mut other) = (noise(BLOCK, 3), noise(BLOCK, 4));
    let (spot, other) = (spot.as_mut_ptr(), other.as_mut_ptr());
    for (case, mut channels) in side_chains(spot, other) {
        let mut instance = open(Session::default());
        let latency = instance.latency();
        let mut audio = Audio::impulse();
        let (mut main, mut out) = (audio.inputs(), audio.outputs());
        let mut inputs = vec![bus(&mut main)];
        inputs.extend(channels.as_mut().map(|channels| bus(channels)));
        let status = process(&instance, BLOCK, &inputs, &mut [bus(&mut out)]);
        assert_ne!(status, CLAP_PROCESS_ERROR, "{case}");
        audio.check(latency, case);
    }
}

#[test]
fn a_side_chain_without_a_channel_array_is_silence() {
    let mut instance = open(Session::default());
    let mut audio = Audio::impulse();
    let (mut main, mut out) = (audio.inputs(), audio.outputs());
    let inputs = [bus(&mut main), buffer(null_mut(), 2)];
    let status = process(&instance, BLOCK, &inputs, &mut [bus(&mut out)]);
    assert_ne!(status, CLAP_PROCESS_ERROR);
    audio.check(instance.latency(), "null array");
}

#[test]
fn a_main_input_or_output_that_is_not_there_is_silence_or_not_written() {
    let mut instance = open(Session::default());
    let latency = instance.latency() as usize;
    let mut audio = Audio::impulse();
    let (main, out) = (audio.inputs(), audio.outputs());
    let (mut one, mut pair) = ([main[0]], out);
    process(&instance, BLOCK, &[bus(&mut one)], &mut [bus(&mut pair)]);
    assert_eq!(
        (audio.nonzero(0), audio.nonzero(1)),
        (vec![latency], vec![])
    );
    let mut half = [null_mut(), out[1]];
    let mut one_out = [out[0]];
    for outputs in [
        &mut [bus(&mut half)][..],
        &mut [bus(&mut one_out)],
        &mut [buffer(null_mut(), 2)],
        &mut [],
    ] {
        let status = process(&instance, BLOCK, &[], outputs);
        assert_ne!(status, CLAP_PROCESS_ERROR);
    }
    // SAFETY: a null block is what is tested.
    let status = unsafe { instance.raw().process.unwrap()(instance.raw(), null()) };
    assert_eq!(status, CLAP_PROCESS_ERROR);
}

#[test]
fn side_chains_of_another_width_than_agreed_are_heard() {
    for (layout, given) in [(Layout::StereoSpotStereo, 1), (Layout::StereoSpotMono, 2)] {
        let mut instance = open(Session {
            layout,
            ..Session::default()
        });
        instance.set("monitor", 3.0).unwrap();
        instance.restart().unwrap();
        let latency = instance.latency() as usize;
        let (mut audio, mut struck) = (Audio::silence(), Audio::impulse());
        let (mut main, mut out) = (audio.inputs(), audio.outputs());
        let mut spot = struck.inputs();
        let inputs = [bus(&mut main), bus(&mut spot[..given])];
        process(&instance, BLOCK, &inputs, &mut [bus(&mut out)]);
        assert_eq!(audio.output[0][latency], 1.0, "{layout:?} with {given}");
    }
}

#[test]
fn in_place_gives_what_out_of_place_gives() {
    let (mut instance, other) = (open(Session::default()), open(Session::default()));
    let mut apart = [noise(BLOCK, 1), noise(BLOCK, 2)];
    let mut within = apart.clone();
    let spot = noise(BLOCK, 3);
    let [first, second] = &mut apart;
    instance
        .process(&mut [first, second], &[&spot, &spot])
        .unwrap();
    let mut main = within.each_mut().map(|c| c.as_mut_ptr());
    let mut main_again = main;
    let mut spot = [spot.as_ptr().cast_mut(); 2];
    let inputs = [bus(&mut main), bus(&mut spot)];
    process(&other, BLOCK, &inputs, &mut [bus(&mut main_again)]);
    assert!(apart == within);
}

#[test]
fn blocks_longer_than_agreed_are_refused_in_silence() {
    let instance = open(Session::default());
    let mut output = [noise(2 * BLOCK, 1), noise(2 * BLOCK, 2)];
    let mut out = output.each_mut().map(|c| c.as_mut_ptr());
    let status = process(&instance, 2 * BLOCK, &[], &mut [bus(&mut out)]);
    assert_eq!(status, CLAP_PROCESS_ERROR);
    assert!(output.iter().flatten().all(|x| *x == 0.0));
}
