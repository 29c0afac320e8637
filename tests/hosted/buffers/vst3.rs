//! VST3: buffers that are null, too few or not there at all, and side chains of another width.

use crate::buffers::pointers::{Audio, BLOCK, side_chains};
use crate::hang::wait_until;
use crate::vst3::host::{Render, Vst3, block, bus, null_bus, poison};
use crate::vst3::objects::number;
use plumbline_hosting::noise;
use std::ptr::null_mut;
use std::sync::atomic::Ordering::Relaxed;
use std::time::Duration;
use vst3::Steinberg::Vst::BusDirections_::kInput;
use vst3::Steinberg::Vst::MediaTypes_::kAudio;
use vst3::Steinberg::Vst::RestartFlags_::kLatencyChanged;
use vst3::Steinberg::Vst::SpeakerArr::{k51, kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::{
    BusInfo, IAudioProcessorTrait, IComponentTrait, IEditControllerTrait, SpeakerArrangement,
};
use vst3::Steinberg::{int32, kResultOk};

const WIDTHS: [SpeakerArrangement; 2] = [kMono, kStereo];

fn started(main: SpeakerArrangement, spot: Option<SpeakerArrangement>) -> Vst3 {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(main, spot), kResultOk, "{main} {spot:?}");
    plugin.start(Render::Realtime);
    plugin
}

#[test]
fn a_side_chain_that_is_null_short_or_left_out_is_silence() {
    let (mut spot, mut other) = (noise(BLOCK, 3), noise(BLOCK, 4));
    let (spot, other) = (spot.as_mut_ptr(), other.as_mut_ptr());
    for (case, mut channels) in side_chains(spot, other) {
        let plugin = started(kStereo, Some(kStereo));
        let mut audio = Audio::impulse();
        let (mut main, mut out) = (audio.inputs(), audio.outputs());
        let mut inputs = vec![bus(&mut main)];
        inputs.extend(channels.as_mut().map(|channels| bus(channels)));
        let result = plugin.process(
            BLOCK,
            &mut inputs,
            &mut [bus(&mut out)],
            &[("measure", 1.0)],
        );
        assert_eq!(result, kResultOk, "{case}");
        audio.check(plugin.latency(), case);
    }
}

#[test]
fn a_side_chain_without_a_channel_array_is_silence() {
    let plugin = started(kStereo, Some(kStereo));
    let mut audio = Audio::impulse();
    let (mut main, mut out) = (audio.inputs(), audio.outputs());
    let mut inputs = [bus(&mut main), null_bus(2)];
    let result = plugin.process(BLOCK, &mut inputs, &mut [bus(&mut out)], &[]);
    assert_eq!(result, kResultOk);
    audio.check(plugin.latency(), "null array");
}

#[test]
fn a_main_input_that_is_not_there_is_silence() {
    for case in ["none", "null array", "null channels", "one channel"] {
        let plugin = started(kStereo, Some(kStereo));
        let mut audio = Audio::impulse();
        let (main, mut out) = (audio.inputs(), audio.outputs());
        let (mut nulls, mut one) = ([null_mut(); 2], [main[0]]);
        let mut inputs = match case {
            "none" => vec![],
            "null array" => vec![null_bus(2)],
            "null channels" => vec![bus(&mut nulls)],
            _ => vec![bus(&mut one)],
        };
        let result = plugin.process(BLOCK, &mut inputs, &mut [bus(&mut out)], &[]);
        assert_eq!(result, kResultOk, "{case}");
        let sum = |channel: &[f32]| channel.iter().sum::<f32>();
        let due = if case == "one channel" { 1.0 } else { 0.0 };
        assert_eq!(
            (sum(&audio.output[0]), sum(&audio.output[1])),
            (due, 0.0),
            "{case}"
        );
    }
}

#[test]
fn an_output_that_is_not_there_is_not_written() {
    let plugin = started(kStereo, Some(kStereo));
    let mut audio = Audio::impulse();
    let (mut main, out) = (audio.inputs(), audio.outputs());
    let (mut half, mut nulls, mut one) = ([out[0], null_mut()], [null_mut(); 2], [out[0]]);
    for outputs in [
        &mut [bus(&mut half)][..],
        &mut [bus(&mut nulls)],
        &mut [bus(&mut one)],
        &mut [null_bus(2)],
        &mut [],
    ] {
        let result = plugin.process(BLOCK, &mut [bus(&mut main)], outputs, &[]);
        assert_eq!(result, kResultOk);
    }
}

#[test]
fn a_parameter_flush_looks_at_no_buffer() {
    let plugin = started(kStereo, Some(kStereo));
    let (mut bad_in, mut bad_out) = ([poison(); 2], [poison(); 2]);
    let flushes: [(usize, usize); 3] = [(0, 0), (0, 1), (64, 0)];
    for (turn, (frames, outputs)) in flushes.into_iter().enumerate() {
        let value = 0.25 * (turn + 1) as f64;
        let mut inputs = [bus(&mut bad_in)];
        let mut output = [bus(&mut bad_out)];
        let result = plugin.process(
            frames,
            &mut inputs,
            &mut output[..outputs],
            &[("amount", value)],
        );
        assert_eq!(result, kResultOk);
        // SAFETY: plain data.
        let shown = unsafe { plugin.controller.getParamNormalized(number("amount")) };
        assert_eq!(shown, value);
    }
}

#[test]
fn blocks_longer_than_agreed_or_of_negative_length_are_refused_in_silence() {
    let plugin = started(kStereo, Some(kStereo));
    let (mut left, mut right) = (vec![1.0; 2 * BLOCK], vec![1.0; 2 * BLOCK]);
    let mut channels = [left.as_mut_ptr(), right.as_mut_ptr()];
    let mut outputs = [bus(&mut channels)];
    let result = plugin.process(2 * BLOCK, &mut [], &mut outputs, &[]);
    assert_ne!(result, kResultOk);
    assert!(left.iter().chain(&right).all(|x| *x == 0.0));
    let mut negative = block(0, &mut [], &mut outputs);
    negative.numSamples = -1;
    // SAFETY: nothing is read.
    unsafe {
        assert_ne!(plugin.processor.process(&mut negative), kResultOk);
        assert_ne!(plugin.processor.process(null_mut()), kResultOk);
    }
}

#[test]
fn processing_before_activation_does_not_crash() {
    let plugin = Vst3::new();
    let mut audio = Audio::impulse();
    let (mut main, mut out) = (audio.inputs(), audio.outputs());
    let result = plugin.process(BLOCK, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
    assert_ne!(result, kResultOk);
    assert!(audio.output[0].iter().all(|x| *x == 0.0));
}

#[test]
fn side_chains_of_either_width_are_taken_and_heard() {
    for main in WIDTHS {
        for spot in WIDTHS {
            let plugin = started(main, Some(spot));
            let mut arrangement = kEmpty;
            // SAFETY: the pointers are valid.
            let info = unsafe {
                let mut info: BusInfo = std::mem::zeroed();
                plugin
                    .component
                    .getBusInfo(kAudio as int32, kInput as int32, 1, &mut info);
                plugin
                    .processor
                    .getBusArrangement(kInput as int32, 1, &mut arrangement);
                info
            };
            assert_eq!(arrangement, spot);
            assert_eq!(info.channelCount as u32, spot.count_ones());
            let mut audio = Audio::impulse();
            let (mut silent, mut out) = ([vec![0.0; BLOCK], vec![0.0; BLOCK]], audio.outputs());
            let mut quiet = silent.each_mut().map(|c| c.as_mut_ptr());
            let (wide, narrow) = (main.count_ones() as usize, spot.count_ones() as usize);
            let mut impulse = audio.inputs();
            // The spot on the monitor shows that it is heard.
            let spot_monitor = [("monitor", 1.0)];
            for _ in 0..4 {
                let mut inputs = [bus(&mut quiet[..wide]), bus(&mut impulse[..narrow])];
                let mut outputs = [bus(&mut out[..wide])];
                assert_eq!(
                    plugin.process(BLOCK, &mut inputs, &mut outputs, &spot_monitor),
                    kResultOk
                );
            }
            let at = plugin.latency() as usize;
            assert_eq!(audio.output[0][at], 1.0, "{wide} main, {narrow} spot");
        }
    }
}

#[test]
fn layouts_without_a_side_chain_work_and_impossible_ones_are_refused() {
    for main in WIDTHS {
        let plugin = started(main, None);
        let mut audio = Audio::impulse();
        let (mut input, mut out) = (audio.inputs(), audio.outputs());
        let wide = main.count_ones() as usize;
        let result = plugin.process(
            BLOCK,
            &mut [bus(&mut input[..wide])],
            &mut [bus(&mut out[..wide])],
            &[],
        );
        assert_eq!(result, kResultOk);
        assert_eq!(audio.output[0][plugin.latency() as usize], 1.0);
    }
    let plugin = Vst3::new();
    for (main, spot) in [
        (k51, Some(kStereo)),
        (kEmpty, Some(kStereo)),
        (kStereo, Some(k51)),
        (kEmpty, None),
    ] {
        assert_ne!(plugin.arrange(main, spot), kResultOk);
    }
}

/// Turns the reach up by 4 ms while the plugin works, and says what the latency should then be.
fn reached(plugin: &Vst3) -> u32 {
    let before = plugin.latency();
    plugin.restart.0.store(0, Relaxed);
    let silence = |changes: &[(&'static str, f64)]| {
        let mut audio = Audio::impulse();
        let mut out = audio.outputs();
        plugin.process(BLOCK, &mut [], &mut [bus(&mut out)], changes);
    };
    silence(&[("reach", 4.0 / 30.0)]);
    wait_until(Duration::from_millis(5), || {
        silence(&[]);
        let is_new = plugin.latency() != before;
        assert!(
            is_new || plugin.restart.0.load(Relaxed) == 0,
            "told before it is true"
        );
        is_new
    });
    assert_ne!(plugin.restart.0.load(Relaxed) & kLatencyChanged, 0);
    before + 192
}

#[test]
fn a_new_reach_is_told_when_it_is_true_to_hosts_that_restart_and_to_hosts_that_do_not() {
    for host in ["restarts", "only reads the latency"] {
        let plugin = started(kStereo, Some(kStereo));
        let due = reached(&plugin);
        assert_eq!(plugin.latency(), due, "{host}");
        if host == "restarts" {
            plugin.stop();
            plugin.start(Render::Realtime);
            assert_eq!(plugin.latency(), due);
        } else {
            // SAFETY: plain data; starts from silence.
            unsafe { plugin.processor.setProcessing(1) };
        }
        let mut audio = Audio::impulse();
        let (mut main, mut out) = (audio.inputs(), audio.outputs());
        plugin.process(BLOCK, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
        audio.check(due, host);
    }
}

#[test]
fn an_offline_render_is_one_from_its_first_activation() {
    let plugin = Vst3::new();
    assert_eq!(plugin.arrange(kStereo, Some(kStereo)), kResultOk);
    plugin.start(Render::Offline);
    let mut audio = Audio::impulse();
    audio.input[1].fill(0.0);
    let (mut main, mut out) = (audio.inputs(), audio.outputs());
    // The monitor is for the ear: a render that ignores it is an offline one.
    plugin.process(
        BLOCK,
        &mut [bus(&mut main)],
        &mut [bus(&mut out)],
        &[("monitor", 1.0 / 3.0)],
    );
    assert_eq!(audio.output[0][plugin.latency() as usize], 1.0);
}

#[test]
fn a_state_comes_back_and_garbage_is_refused() {
    let from = started(kStereo, Some(kStereo));
    from.process(
        0,
        &mut [],
        &mut [],
        &[("amount", 0.5), ("anchor", 1.0), ("reach", 0.1)],
    );
    let state = from.save();
    let to = Vst3::new();
    assert_eq!(to.load(&state), kResultOk);
    assert_eq!(to.save(), state);
    for garbage in [&b""[..], b"{", b"[]", &state[..state.len() / 3]] {
        assert_ne!(to.load(garbage), kResultOk);
    }
    assert_eq!(to.save(), state);
}

/// A host that loads a session into an active plugin and renders it in one go never waits for a thread of the plugin's.
#[test]
fn a_session_loaded_before_the_first_block_has_its_latency_at_once() {
    let from = started(kStereo, Some(kStereo));
    from.process(0, &mut [], &mut [], &[("reach", 4.0 / 30.0)]);
    let state = from.save();
    for render in [Render::Realtime, Render::Offline] {
        let plugin = Vst3::new();
        assert_eq!(plugin.arrange(kStereo, Some(kStereo)), kResultOk);
        plugin.start(render);
        let due = plugin.latency() + 192;
        plugin.restart.0.store(0, Relaxed);
        assert_eq!(plugin.load(&state), kResultOk);
        assert_eq!(plugin.latency(), due, "{render:?}");
        assert_ne!(plugin.restart.0.load(Relaxed) & kLatencyChanged, 0);
        for _ in 0..2 {
            let mut audio = Audio::impulse();
            let (mut main, mut out) = (audio.inputs(), audio.outputs());
            plugin.process(BLOCK, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
            audio.check(due, "loaded before the first block");
        }
        plugin.restart.0.store(0, Relaxed);
        assert_eq!(plugin.load(&state), kResultOk);
        assert_eq!(plugin.restart.0.load(Relaxed), 0, "nothing new to tell");
    }
}
