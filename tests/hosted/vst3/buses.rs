//! VST3: buses as hosts arrange them, in every combination, and buses that they switch on and off.

use crate::buffers::pointers::{Audio, BLOCK};
use crate::vst3::host::{Render, Vst3, bus};
use crate::vst3::traps::started;
use vst3::Steinberg::Vst::BusDirections_::{kInput, kOutput};
use vst3::Steinberg::Vst::MediaTypes_::{kAudio, kEvent};
use vst3::Steinberg::Vst::SpeakerArr::{kEmpty, kMono, kStereo};
use vst3::Steinberg::Vst::{BusInfo, IComponentTrait, SpeakerArrangement};
use vst3::Steinberg::{TBool, kResultOk};

/// Directions of buses.
pub const INPUT: u32 = kInput as u32;
pub const OUTPUT: u32 = kOutput as u32;
/// Main input, spot, output.
const BUSES: [(u32, i32); 3] = [(INPUT, 0), (INPUT, 1), (OUTPUT, 0)];

pub fn switch(plugin: &Vst3, (direction, index): (u32, i32), on: bool) -> bool {
    // SAFETY: plain data.
    let result = unsafe {
        plugin
            .component
            .activateBus(kAudio as i32, direction as i32, index, TBool::from(on))
    };
    result == kResultOk
}

/// Channels of main input, spot and output.
fn channels(plugin: &Vst3) -> [usize; 3] {
    BUSES.map(|(direction, index)| {
        // SAFETY: plain data that the plugin fills.
        unsafe {
            let mut info: BusInfo = std::mem::zeroed();
            let result =
                plugin
                    .component
                    .getBusInfo(kAudio as i32, direction as i32, index, &mut info);
            assert_eq!(result, kResultOk);
            info.channelCount as usize
        }
    })
}

/// What comes out of a strike on the main input, and of one on the spot with the spot on the monitor.
fn heard(plugin: &Vst3, [main, spot, out]: [usize; 3]) -> [Vec<f32>; 2] {
    let latency = plugin.latency() as usize;
    [0.0, 1.0].map(|monitor| {
        // Long enough for the monitor's glide.
        for _ in 0..4 {
            let (mut input, mut result) = (Audio::silence(), Audio::silence());
            let (mut main_in, mut outputs) = (input.inputs(), result.outputs());
            let mut inputs = [bus(&mut main_in[..main])];
            let mut outputs = [bus(&mut outputs[..out])];
            plugin.process(BLOCK, &mut inputs, &mut outputs, &[("monitor", monitor)]);
        }
        let [mut on_main, mut on_spot] = Audio::strike(monitor > 0.0);
        let mut result = Audio::silence();
        let (mut main_in, mut spot_in) = (on_main.inputs(), on_spot.inputs());
        let mut outputs = result.outputs();
        let mut inputs = vec![bus(&mut main_in[..main])];
        if spot > 0 {
            inputs.push(bus(&mut spot_in[..spot]));
        }
        let mut outputs = [bus(&mut outputs[..out])];
        assert_eq!(
            plugin.process(BLOCK, &mut inputs, &mut outputs, &[]),
            kResultOk
        );
        (0..out)
            .map(|channel| result.output[channel][latency])
            .collect()
    })
}

#[test]
fn every_pair_of_main_bus_and_side_chain_is_taken_in_any_order() {
    let plugin = Vst3::new();
    let spots = [Some(kMono), Some(kStereo), Some(kEmpty), None];
    let all = [kStereo, kMono]
        .into_iter()
        .flat_map(|main| spots.map(|spot| (main, spot)));
    let all: Vec<_> = all.collect();
    // From each to each other one.
    for (from, to) in all
        .iter()
        .flat_map(|from| all.iter().map(move |to| (from, to)))
    {
        for (main, spot) in [from, to] {
            let case = format!("{from:?} then {to:?}, at {main} {spot:?}");
            let before = channels(&plugin)[1];
            assert_eq!(plugin.arrange(*main, *spot), kResultOk, "{case}");
            let wide = main.count_ones() as usize;
            let narrow = spot.map_or(before, |spot| spot.count_ones() as usize);
            assert_eq!(channels(&plugin), [wide, narrow, wide], "{case}");
            plugin.start(Render::Realtime);
            let handed_over = spot.map_or(0, |_| narrow);
            let due = if handed_over > 0 { 1.0 } else { 0.0 };
            let heard = heard(&plugin, [wide, handed_over, wide]);
            assert_eq!(heard, [vec![1.0; wide], vec![due; wide]], "{case}");
            plugin.stop();
        }
    }
}

#[test]
fn buses_arranged_while_the_plugin_is_active_are_refused_unless_they_are_so_already() {
    let plugin = started();
    let state = plugin.save();
    let others: [(SpeakerArrangement, _); 5] = [
        (kMono, Some(kStereo)),
        (kMono, None),
        (kStereo, Some(kMono)),
        (kStereo, Some(kEmpty)),
        (kMono, Some(kMono)),
    ];
    for (main, spot) in others {
        assert_ne!(plugin.arrange(main, spot), kResultOk, "{main} {spot:?}");
        assert_eq!(channels(&plugin), [2, 2, 2]);
        // With the next state the framework activates what it takes for the layout.
        assert_eq!(plugin.load(&state), kResultOk);
        assert_eq!(heard(&plugin, [2, 2, 2]), [[1.0; 2], [1.0; 2]]);
    }
    assert_eq!(plugin.arrange(kStereo, Some(kStereo)), kResultOk);
    assert_eq!(plugin.arrange(kStereo, None), kResultOk);
    plugin.stop();
    assert_eq!(plugin.arrange(kMono, Some(kMono)), kResultOk);
}

#[test]
fn what_comes_in_on_a_bus_that_is_off_is_silence_and_one_that_is_off_is_silent() {
    for (main, spot) in [
        (kStereo, kStereo),
        (kStereo, kMono),
        (kMono, kStereo),
        (kMono, kMono),
    ] {
        let plugin = Vst3::new();
        assert_eq!(plugin.arrange(main, Some(spot)), kResultOk);
        let [wide, narrow] = [main, spot].map(|bus| bus.count_ones() as usize);
        let (loud, quiet) = (vec![1.0; wide], vec![0.0; wide]);
        let wanted = [[&quiet, &loud], [&loud, &quiet], [&quiet, &quiet]];
        for running in [false, true] {
            for (off, wanted) in BUSES.into_iter().zip(wanted) {
                let turn = |on: bool| {
                    if !running {
                        plugin.stop();
                    }
                    assert!(switch(&plugin, off, on));
                    if !running {
                        plugin.start(Render::Realtime);
                    }
                };
                if running && off == BUSES[0] {
                    plugin.stop();
                    plugin.start(Render::Realtime);
                }
                turn(false);
                let got = heard(&plugin, [wide, narrow, wide]);
                assert_eq!([&got[0], &got[1]], wanted, "{off:?}, running: {running}");
                turn(true);
                let got = heard(&plugin, [wide, narrow, wide]);
                assert_eq!([&got[0], &got[1]], [&loud, &loud], "on again");
            }
        }
    }
}

#[test]
fn buses_that_there_are_not_cannot_be_switched() {
    let plugin = started();
    let none = [(INPUT, 2), (INPUT, -1), (OUTPUT, 1), (7, 0)];
    for bus in none {
        assert!(!switch(&plugin, bus, false), "{bus:?}");
    }
    // SAFETY: plain data.
    let events = unsafe {
        plugin
            .component
            .activateBus(kEvent as i32, kInput as i32, 0, 0)
    };
    assert_ne!(events, kResultOk);
    assert_eq!(heard(&plugin, [2, 2, 2]), [[1.0; 2], [1.0; 2]]);
}
