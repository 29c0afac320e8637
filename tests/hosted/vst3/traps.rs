//! VST3: what hosts do with parameters, events and buses, one trap a test.

use crate::buffers::pointers::{Audio, BLOCK};
use crate::vst3::host::{Render, RenderSetup, Vst3, block, bus};
use crate::vst3::objects::{Changes, Points, number};
use plumbline_hosting::noise;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread;
use vst3::Steinberg::Vst::BusDirections_::kInput;
use vst3::Steinberg::Vst::MediaTypes_::kAudio;
use vst3::Steinberg::Vst::SpeakerArr::{kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::{
    BusInfo, IAudioProcessor, IAudioProcessorTrait, IComponentTrait, IEditControllerTrait,
    IParameterChanges, ParameterInfo,
};
use vst3::Steinberg::kResultOk;
use vst3::{ComPtr, ComWrapper};

pub fn started() -> Vst3 {
    let plugin = Vst3::new();
    plugin.start(Render::Realtime);
    plugin
}

/// One block of noise with these points; what comes out.
pub fn played(plugin: &Vst3, frames: usize, points: Vec<Points>) -> [Vec<f32>; 2] {
    let mut input = [noise(frames, 1), noise(frames, 2)];
    let mut output = [vec![7.0; frames], vec![7.0; frames]];
    let mut main = input.each_mut().map(|c| c.as_mut_ptr());
    let mut out = output.each_mut().map(|c| c.as_mut_ptr());
    let changes = ComWrapper::new(Changes::of(points));
    let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
    let (mut inputs, mut outputs) = ([bus(&mut main)], [bus(&mut out)]);
    let mut block = block(frames, &mut inputs, &mut outputs);
    block.inputParameterChanges = changes.as_ptr();
    // SAFETY: the buffers are as long as they say.
    assert_eq!(unsafe { plugin.processor.process(&mut block) }, kResultOk);
    output
}

pub fn read(plugin: &Vst3, id: &str) -> f64 {
    // SAFETY: plain data.
    unsafe { plugin.controller.getParamNormalized(number(id)) }
}

pub fn point(id: &str, at: i32, value: f64) -> Points {
    Points {
        id: number(id),
        points: vec![(at, value)],
    }
}

#[test]
fn what_the_controller_is_told_while_processing_is_read_back_heard_and_saved() {
    let plugin = started();
    for value in [1.0, 0.0, 1.0] {
        plugin.preset("bypass", value);
        assert_eq!(read(&plugin, "bypass"), value, "before a block");
        played(&plugin, BLOCK, vec![]);
        assert_eq!(read(&plugin, "bypass"), value, "after a block");
    }
    plugin.preset("output", 6.0);
    let other = Vst3::new();
    assert_eq!(other.load(&plugin.save()), kResultOk);
    assert_eq!(read(&other, "bypass"), 1.0, "saved");
    assert!((read(&other, "output") - other.normalized("output", 6.0)).abs() < 1e-6);
}

#[test]
fn an_echo_of_the_automation_does_not_undo_it() {
    let plugin = started();
    let low = plugin.normalized("output", -24.0);
    let loud = played(&plugin, BLOCK, vec![point("output", 0, 0.5)]);
    // Long enough for the level to settle.
    let settled = |points: Vec<Points>| {
        played(&plugin, BLOCK, points);
        (0..19).for_each(|_| {
            played(&plugin, BLOCK, vec![]);
        });
        played(&plugin, BLOCK, vec![])
    };
    let before = settled(vec![point("output", 0, plugin.normalized("output", 0.0))]);
    plugin.preset("output", -24.0);
    assert_eq!(read(&plugin, "output"), low, "it is shown");
    assert!(settled(vec![]) == before, "and not heard");
    assert!(loud != before);
}

#[test]
fn information_on_a_parameter_that_there_is_not_is_refused() {
    let plugin = Vst3::new();
    // SAFETY: plain data that the plugin fills.
    unsafe {
        let mut info: ParameterInfo = std::mem::zeroed();
        let count = plugin.controller.getParameterCount();
        for index in [count, count + 1, i32::MAX, -1, i32::MIN] {
            let result = plugin.controller.getParameterInfo(index, &mut info);
            assert_ne!(result, kResultOk, "{index}");
        }
    }
}

#[test]
fn points_in_any_order_at_any_time_and_by_the_thousand_end_on_the_last_value() {
    let out_of_order = vec![(300, 0.1), (20, 0.9), (-5, 0.3), (100, 0.7)];
    let behind = vec![(BLOCK as i32, 0.2), (1 << 30, 0.7)];
    let dense: Vec<_> = (0..5_000)
        .map(|n| (n / 10, f64::from(n % 7) / 7.0))
        .chain([(511, 0.7)])
        .collect();
    let nonsense = vec![(0, f64::NAN), (3, f64::INFINITY), (9, 7e8), (10, 0.7)];
    for points in [out_of_order, behind, dense, nonsense] {
        let plugin = started();
        let case = format!("{:?}", &points[..points.len().min(4)]);
        let id = number("width");
        let queues = vec![Points { id, points }, point("nobody", 5, 0.5)];
        let heard = played(&plugin, BLOCK, queues);
        assert!(heard.iter().flatten().all(|x| x.is_finite()), "{case}");
        assert!((read(&plugin, "width") - 0.7).abs() < 1e-6, "{case}");
    }
}

#[test]
fn more_queues_than_there_are_parameters_are_taken() {
    let plugin = started();
    let queues = (0..1_000).map(|n| point("width", n % 400, f64::from(n) / 999.0));
    played(&plugin, BLOCK, queues.collect());
    assert!((0.0..=1.0).contains(&read(&plugin, "width")));
}

#[test]
fn parameters_of_a_block_without_audio_are_taken_by_an_inactive_plugin_too() {
    let plugin = Vst3::new();
    let frames = plugin.process(0, &mut [], &mut [], &[("width", 0.25)]);
    assert_eq!(frames, kResultOk);
    assert!((read(&plugin, "width") - 0.25).abs() < 1e-6);
}

/// Channels of the spot's bus, and how many buses there are.
fn spot_bus(plugin: &Vst3) -> (i32, i32) {
    // SAFETY: plain data that the plugin fills.
    unsafe {
        let (audio, input) = (kAudio as i32, kInput as i32);
        let mut info: BusInfo = std::mem::zeroed();
        plugin.component.getBusInfo(audio, input, 1, &mut info);
        (
            info.channelCount,
            plugin.component.getBusCount(audio, input),
        )
    }
}

#[test]
fn the_side_chain_bus_outlives_hosts_that_leave_it_out_or_empty() {
    let plugin = Vst3::new();
    for main in [kStereo, kMono] {
        assert_eq!(plugin.arrange(main, None), kResultOk);
        assert_eq!(spot_bus(&plugin), (2, 2), "left out");
        assert_eq!(plugin.arrange(main, Some(kEmpty)), kResultOk);
        assert_eq!(spot_bus(&plugin), (0, 2), "empty");
        assert_eq!(plugin.arrange(main, Some(kStereo)), kResultOk);
        assert_eq!(spot_bus(&plugin), (2, 2), "back again");
    }
    assert_eq!(plugin.arrange(kStereo, Some(kEmpty)), kResultOk);
    plugin.start(Render::Realtime);
    let mut audio = Audio::impulse();
    let (mut main, mut out) = (audio.inputs(), audio.outputs());
    plugin.process(BLOCK, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
    audio.check(plugin.latency(), "empty side chain");
}

/// Rates that validators and hosts ask for, samples a second.
pub const RATES: [f64; 9] = [
    1_000.0,
    1_234.567_8,
    8_000.0,
    11_025.0,
    22_050.0,
    44_100.0,
    96_000.0,
    384_000.0,
    768_000.0,
];

#[test]
fn every_rate_is_taken_and_audio_passes_late_by_the_latency() {
    for sample_rate in RATES {
        for mode in [0.0, 1.0] {
            let plugin = Vst3::new();
            plugin.preset("mode", mode);
            let (render, longest) = (Render::Realtime, 65_536);
            plugin.start_on(RenderSetup {
                render,
                sample_rate,
                longest,
            });
            let mut left = vec![0.0; longest];
            left[0] = 1.0;
            let (mut input, mut output) = (
                [left.clone(), left],
                [vec![7.0; longest], vec![7.0; longest]],
            );
            let mut main = input.each_mut().map(|c| c.as_mut_ptr());
            let mut out = output.each_mut().map(|c| c.as_mut_ptr());
            let result = plugin.process(longest, &mut [bus(&mut main)], &mut [bus(&mut out)], &[]);
            assert_eq!(result, kResultOk, "{sample_rate} Hz");
            assert!(output.iter().flatten().all(|x| x.is_finite()));
            let latency = plugin.latency() as usize;
            let loudest =
                (0..longest).max_by(|&a, &b| output[0][a].abs().total_cmp(&output[0][b].abs()));
            assert_eq!(loudest, Some(latency), "{sample_rate} Hz, mode {mode}");
        }
    }
}

/// A number that is neither zero nor normal.
fn is_subnormal_or_worse(x: &f32) -> bool {
    *x != 0.0 && !x.is_normal()
}

#[test]
fn nothing_subnormal_comes_out_whatever_comes_in() {
    let plugin = started();
    // These silence the output while they change.
    let muting = ["mode", "reach", "bypass"].map(number);
    let ids: Vec<u32> = plugin
        .parameters()
        .into_iter()
        .filter(|id| !muting.contains(id))
        .collect();
    let mut random = fastrand::Rng::with_seed(5);
    for count in 0..2_000 {
        // Loud, then a fade into nothing, as at the end of a take: gains work on ever smaller numbers.
        let level = 10_f32.powi(-(count % 45));
        let mut input = [noise(BLOCK, count as u64), noise(BLOCK, 7)];
        input.iter_mut().flatten().for_each(|x| *x *= level);
        let mut output = [vec![7.0; BLOCK], vec![7.0; BLOCK]];
        let mut main = input.each_mut().map(|c| c.as_mut_ptr());
        let mut out = output.each_mut().map(|c| c.as_mut_ptr());
        let points = ids.iter().filter_map(|&id| {
            let (frame, value) = ((random.f64() * 600.0) as i32, random.f64());
            (random.f64() < 0.1).then(|| Points {
                id,
                points: vec![(frame, value)],
            })
        });
        let changes = ComWrapper::new(Changes::of(points.collect()));
        let changes = changes.to_com_ptr::<IParameterChanges>().unwrap();
        let (mut inputs, mut outputs) = ([bus(&mut main)], [bus(&mut out)]);
        let mut block = block(BLOCK, &mut inputs, &mut outputs);
        block.inputParameterChanges = changes.as_ptr();
        // SAFETY: the buffers are as long as they say.
        assert_eq!(unsafe { plugin.processor.process(&mut block) }, kResultOk);
        let bad = output.iter().flatten().find(|x| is_subnormal_or_worse(x));
        assert_eq!(bad, None, "block {count}");
    }
}

/// The processor for a thread of its own.
struct Elsewhere(ComPtr<IAudioProcessor>);

// SAFETY: that is what the test is about: a host that calls from two threads at once.
unsafe impl Send for Elsewhere {}

#[test]
fn a_host_that_activates_while_it_processes_is_forgiven() {
    let plugin = started();
    let stop = AtomicBool::new(false);
    thread::scope(|scope| {
        let (stop, elsewhere) = (&stop, Elsewhere(plugin.processor.clone()));
        let audio = scope.spawn(move || {
            let elsewhere = elsewhere;
            let mut count = 0_u32;
            while !stop.load(Relaxed) {
                let mut output = [vec![7.0; BLOCK], vec![7.0; BLOCK]];
                let mut out = output.each_mut().map(|c| c.as_mut_ptr());
                // Every other block names one channel only: the guard's own memory is written to.
                let named = if count.is_multiple_of(2) { 2 } else { 1 };
                let mut outputs = [bus(&mut out[..named])];
                let mut block = block(BLOCK, &mut [], &mut outputs);
                // SAFETY: the buffers are as long as they say.
                unsafe { elsewhere.0.process(&mut block) };
                assert!(
                    output[..named]
                        .iter()
                        .flatten()
                        .all(|x| x.is_finite() && *x != 7.0)
                );
                count += 1;
            }
            count
        });
        for round in 0..200 {
            plugin.stop();
            plugin.start_on(RenderSetup {
                render: Render::Realtime,
                sample_rate: 48_000.0,
                longest: BLOCK << (round % 3),
            });
        }
        stop.store(true, Relaxed);
        assert!(audio.join().expect("the audio thread ends well") > 100);
    });
}

#[test]
fn the_last_points_of_a_dense_line_count() {
    let plugin = started();
    let end = plugin.normalized("output", -6.0);
    let line = |at: usize| end * (at + 1) as f64 / BLOCK as f64;
    let points = Points {
        id: number("output"),
        points: (0..BLOCK).map(|at| (at as i32, line(at))).collect(),
    };
    let switch = point("bypass", BLOCK as i32 - 3, 1.0);
    played(&plugin, BLOCK, vec![points, switch]);
    assert!((read(&plugin, "output") - end).abs() < 1e-6);
    assert_eq!(read(&plugin, "bypass"), 1.0);
}

#[test]
fn an_instance_that_does_not_run_takes_what_the_controller_is_told() {
    let plugin = started();
    plugin.stop();
    for (id, value) in [("output", 0.25), ("bypass", 1.0)] {
        // SAFETY: plain data.
        let result = unsafe { plugin.controller.setParamNormalized(number(id), value) };
        assert_eq!(result, kResultOk);
        assert!((read(&plugin, id) - value).abs() < 1e-6, "{id}");
    }
    let other = Vst3::new();
    other.load(&plugin.save());
    for (id, value) in [("output", 0.25), ("bypass", 1.0)] {
        assert!((read(&other, id) - value).abs() < 1e-6, "{id} in the state");
    }
}
