//! CLAP: the layout of the ports as hosts ask for it, and ports that they switch on and off.

use crate::buffers::clap::{bus, process};
use crate::buffers::pointers::{Audio, BLOCK};
use crate::library::open;
use clap_sys::ext::audio_ports::{
    CLAP_EXT_AUDIO_PORTS, CLAP_PORT_MONO, CLAP_PORT_STEREO, clap_audio_port_info,
    clap_plugin_audio_ports,
};
use clap_sys::ext::audio_ports_activation::{
    CLAP_EXT_AUDIO_PORTS_ACTIVATION, CLAP_EXT_AUDIO_PORTS_ACTIVATION_COMPAT,
    clap_plugin_audio_ports_activation,
};
use clap_sys::ext::audio_ports_config::{
    CLAP_EXT_AUDIO_PORTS_CONFIG, clap_plugin_audio_ports_config,
};
use clap_sys::ext::configurable_audio_ports::{
    CLAP_EXT_CONFIGURABLE_AUDIO_PORTS, CLAP_EXT_CONFIGURABLE_AUDIO_PORTS_COMPAT,
    clap_audio_port_configuration_request, clap_plugin_configurable_audio_ports,
};
use clap_sys::plugin::clap_plugin;
use plumbline_hosting::{Instance, Layout, Session};
use std::ffi::CStr;
use std::mem::zeroed;
use std::ptr::null;

/// An extension of the instance, static.
fn extension<T>(plugin: &clap_plugin, id: &CStr) -> &'static T {
    // SAFETY: the id says what the pointer is; extensions are static.
    unsafe {
        let extension = plugin.get_extension.unwrap()(plugin, id.as_ptr());
        extension.cast::<T>().as_ref().expect("the extension")
    }
}

/// One port's wish: the kind is said or left open.
pub fn request(
    is_input: bool,
    port_index: u32,
    channel_count: u32,
    kind: Option<&'static CStr>,
) -> clap_audio_port_configuration_request {
    clap_audio_port_configuration_request {
        is_input,
        port_index,
        channel_count,
        port_type: kind.map_or(null(), CStr::as_ptr),
        port_details: null(),
    }
}

/// Asks for ports; what it says it can do is what it does.
pub fn ask(plugin: &clap_plugin, requests: &[clap_audio_port_configuration_request]) -> bool {
    let ids = [
        CLAP_EXT_CONFIGURABLE_AUDIO_PORTS,
        CLAP_EXT_CONFIGURABLE_AUDIO_PORTS_COMPAT,
    ];
    let (list, count) = (requests.as_ptr(), requests.len() as u32);
    let can = ids.map(|id| {
        let ports: &clap_plugin_configurable_audio_ports = extension(plugin, id);
        // SAFETY: the count is the list's.
        unsafe { ports.can_apply_configuration.unwrap()(plugin, list, count) }
    });
    let ports: &clap_plugin_configurable_audio_ports = extension(plugin, ids[0]);
    // SAFETY: the count is the list's.
    let done = unsafe { ports.apply_configuration.unwrap()(plugin, list, count) };
    assert_eq!(can, [done; 2]);
    done
}

/// Switches a port on or off.
pub fn switch(plugin: &clap_plugin, is_input: bool, index: u32, on: bool) -> bool {
    let ports: &clap_plugin_audio_ports_activation =
        extension(plugin, CLAP_EXT_AUDIO_PORTS_ACTIVATION_COMPAT);
    // SAFETY: plain data.
    unsafe { ports.set_active.unwrap()(plugin, is_input, index, on, 32) }
}

/// Chooses a layout by its number.
pub fn select(plugin: &clap_plugin, layout: u32) -> bool {
    let layouts: &clap_plugin_audio_ports_config = extension(plugin, CLAP_EXT_AUDIO_PORTS_CONFIG);
    // SAFETY: plain data.
    unsafe { layouts.select.unwrap()(plugin, layout) }
}

/// Channels of main input, spot and output; 0 for a port that there is not.
fn channels(plugin: &clap_plugin) -> [u32; 3] {
    let ports: &clap_plugin_audio_ports = extension(plugin, CLAP_EXT_AUDIO_PORTS);
    [(true, 0), (true, 1), (false, 0)].map(|(is_input, index)| {
        // SAFETY: plain data that the plugin fills.
        unsafe {
            let mut info: clap_audio_port_info = zeroed();
            let there = index < ports.count.unwrap()(plugin, is_input);
            match there && ports.get.unwrap()(plugin, index, is_input, &mut info) {
                true => info.channel_count,
                false => 0,
            }
        }
    })
}

/// The pair as it comes, and the spot, both heard: what comes out of a strike on the main input, and of one on the spot with
/// the spot on the monitor.
fn heard(instance: &mut Instance, [main, spot, out]: [u32; 3]) -> [Vec<f32>; 2] {
    let latency = instance.latency() as usize;
    [0.0, 3.0].map(|monitor| {
        instance.set("monitor", monitor).unwrap();
        instance.restart().unwrap();
        let [mut on_main, mut on_spot] = Audio::strike(monitor > 0.0);
        let mut result = Audio::silence();
        let (mut main_in, mut spot_in) = (on_main.inputs(), on_spot.inputs());
        let mut outputs = result.outputs();
        let mut inputs = vec![bus(&mut main_in[..main as usize])];
        if spot > 0 {
            inputs.push(bus(&mut spot_in[..spot as usize]));
        }
        process(
            instance,
            BLOCK,
            &inputs,
            &mut [bus(&mut outputs[..out as usize])],
        );
        (0..out as usize)
            .map(|channel| result.output[channel][latency])
            .collect()
    })
}

#[test]
fn ports_are_configured_one_by_one_or_together() {
    let kinds = [CLAP_PORT_MONO, CLAP_PORT_STEREO];
    let mut instance = open(Session::default());
    for (main, spot, said) in [
        (2, 1, true),
        (1, 2, true),
        (1, 1, false),
        (2, 2, false),
        (1, 2, false),
        (2, 1, true),
    ] {
        let kind = |channels: u32| said.then_some(kinds[channels as usize - 1]);
        let wishes = [
            request(true, 1, spot, kind(spot)),
            request(true, 0, main, kind(main)),
            request(false, 0, main, kind(main)),
        ];
        let reopen = |plugin: &clap_plugin| assert!(ask(plugin, &wishes), "{main} {spot}");
        instance.restart_around(reopen).unwrap();
        assert_eq!(channels(instance.raw()), [main, spot, main]);
        let heard = heard(&mut instance, [main, spot, main]);
        assert_eq!(heard, [vec![1.0; main as usize], vec![1.0; main as usize]]);
    }
    // Only what is named changes.
    let narrow = |plugin: &clap_plugin| assert!(ask(plugin, &[request(true, 1, 2, None)]));
    instance.restart_around(narrow).unwrap();
    assert_eq!(channels(instance.raw()), [2, 2, 2]);
}

#[test]
fn impossible_ports_are_refused_as_a_whole() {
    let mut instance = open(Session::default());
    let impossible = [
        vec![request(true, 0, 1, None)],
        vec![request(true, 1, 1, None), request(true, 0, 3, None)],
        vec![request(true, 1, 1, None), request(false, 1, 2, None)],
        vec![request(true, 1, 1, None), request(true, 2, 1, None)],
        vec![request(true, 1, 1, Some(CLAP_PORT_STEREO))],
        vec![request(true, 1, 2, Some(c"ambisonic"))],
        vec![request(true, 1, 0, None)],
        vec![],
    ];
    let refused = |plugin: &clap_plugin| {
        for wishes in &impossible {
            assert!(!ask(plugin, wishes), "{wishes:?}");
            assert_eq!(channels(plugin), [2, 2, 2], "{wishes:?}");
        }
    };
    instance.restart_around(refused).unwrap();
    let without_spot = |plugin: &clap_plugin| {
        assert!(select(plugin, 4));
        assert!(!ask(plugin, &[request(true, 1, 1, None)]), "there is none");
        assert!(!switch(plugin, true, 1, false), "there is none");
    };
    instance.restart_around(without_spot).unwrap();
    assert_eq!(channels(instance.raw()), [2, 0, 2]);
}

#[test]
fn a_layout_chosen_while_the_plugin_is_active_is_refused() {
    let mut instance = open(Session::default());
    let state = instance.save().unwrap();
    for layout in [2, 5, 0, 77] {
        assert!(!select(instance.raw(), layout), "{layout}");
        let mono = [request(true, 0, 1, None), request(false, 0, 1, None)];
        assert!(!ask(instance.raw(), &mono));
        assert_eq!(channels(instance.raw()), [2, 2, 2]);
        // With the next state the framework activates what it takes for the layout.
        instance.load(&state).unwrap();
        let mut audio = Audio::impulse();
        let (mut main, mut out) = (audio.inputs(), audio.outputs());
        process(&instance, BLOCK, &[bus(&mut main)], &mut [bus(&mut out)]);
        audio.check(instance.latency(), "after a refusal");
        instance.reset();
    }
}

#[test]
fn what_comes_in_on_a_port_that_is_off_is_silence_and_one_that_is_off_is_silent() {
    for layout in [Layout::StereoSpotStereo, Layout::MonoSpotMono] {
        let mut instance = open(Session {
            layout,
            ..Session::default()
        });
        let (main, spot) = layout.channels();
        let wide = [main as u32, spot as u32, main as u32];
        let (loud, quiet) = (vec![1.0; main], vec![0.0; main]);
        let cases = [
            ((true, 0), [&quiet, &loud]),
            ((true, 1), [&loud, &quiet]),
            ((false, 0), [&quiet, &quiet]),
        ];
        for ((is_input, index), wanted) in cases {
            assert!(switch(instance.raw(), is_input, index, false));
            let got = heard(&mut instance, wide);
            assert_eq!([&got[0], &got[1]], wanted, "{is_input} {index}");
            assert!(switch(instance.raw(), is_input, index, true));
            let got = heard(&mut instance, wide);
            assert_eq!([&got[0], &got[1]], [&loud, &loud], "on again");
        }
        // Another layout has its ports on.
        assert!(switch(instance.raw(), true, 0, false));
        let again = |plugin: &clap_plugin| assert!(ask(plugin, &[request(true, 1, 1, None)]));
        instance.restart_around(again).unwrap();
        assert_eq!(heard(&mut instance, [wide[0], 1, wide[2]])[0], loud);
    }
}

#[test]
fn ports_that_there_are_not_cannot_be_switched() {
    let instance = open(Session::default());
    let plugin = instance.raw();
    for id in [
        CLAP_EXT_AUDIO_PORTS_ACTIVATION,
        CLAP_EXT_AUDIO_PORTS_ACTIVATION_COMPAT,
    ] {
        let ports: &clap_plugin_audio_ports_activation = extension(plugin, id);
        // SAFETY: plain data.
        unsafe {
            assert!(ports.can_activate_while_processing.unwrap()(plugin));
            let set = ports.set_active.unwrap();
            assert!(set(plugin, true, 1, true, 0), "a size that is not said");
            assert!(
                !set(plugin, true, 1, false, 64),
                "there are no such samples"
            );
            for (is_input, index) in [(true, 2), (false, 1), (true, u32::MAX), (false, u32::MAX)] {
                assert!(!set(plugin, is_input, index, false, 32));
            }
        }
    }
}
