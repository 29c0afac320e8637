//! CLAP: what hosts do with events, parameters and windows, one trap a test.

use crate::clap::events::{Event, list};
use crate::library::open;
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::events::{
    CLAP_TRANSPORT_HAS_BEATS_TIMELINE, CLAP_TRANSPORT_HAS_SECONDS_TIMELINE,
    CLAP_TRANSPORT_HAS_TEMPO, CLAP_TRANSPORT_HAS_TIME_SIGNATURE, CLAP_TRANSPORT_IS_PLAYING,
    clap_event_transport,
};
use clap_sys::ext::params::{
    CLAP_EXT_PARAMS, CLAP_PARAM_IS_BYPASS, CLAP_PARAM_IS_ENUM, CLAP_PARAM_IS_MODULATABLE,
    CLAP_PARAM_IS_STEPPED, clap_param_info, clap_plugin_params,
};
use clap_sys::plugin::clap_plugin;
use clap_sys::process::{CLAP_PROCESS_ERROR, CLAP_PROCESS_TAIL, clap_process};
use plumbline_hosting::{Instance, Session, noise};
use std::mem::zeroed;
use std::ptr::{from_ref, null, null_mut};

/// Longest block of the usual session.
pub const BLOCK: usize = 512;

/// One block of stereo through the plugin as it is; what it answers.
pub fn pass(
    plugin: &clap_plugin,
    channels: &mut [Vec<f32>; 2],
    transport: Option<&clap_event_transport>,
    events: &Vec<Event>,
) -> i32 {
    let frames = channels[0].len();
    let mut main = channels.each_mut().map(|c| c.as_mut_ptr());
    let buffer = clap_audio_buffer {
        data32: main.as_mut_ptr(),
        data64: null_mut(),
        channel_count: 2,
        latency: 0,
        constant_mask: 0,
    };
    let (events, mut output) = (list(events), buffer);
    let block = clap_process {
        steady_time: -1,
        frames_count: frames as u32,
        transport: transport.map_or(null(), from_ref),
        audio_inputs: &buffer,
        audio_outputs: &mut output,
        audio_inputs_count: 1,
        audio_outputs_count: 1,
        in_events: &events,
        out_events: null(),
    };
    // SAFETY: the counts are right; in place.
    unsafe { plugin.process.unwrap()(plugin, &block) }
}

/// The parameter extension.
pub fn params(plugin: &clap_plugin) -> &'static clap_plugin_params {
    // SAFETY: extensions are static.
    unsafe {
        let params = plugin.get_extension.unwrap()(plugin, CLAP_EXT_PARAMS.as_ptr());
        params.cast::<clap_plugin_params>().as_ref().unwrap()
    }
}

/// What the plugin says about every parameter.
pub fn infos(plugin: &clap_plugin) -> Vec<clap_param_info> {
    let params = params(plugin);
    // SAFETY: plain data that the plugin fills.
    unsafe {
        let count = params.count.unwrap()(plugin);
        let info = |index| {
            let mut info = zeroed();
            assert!(params.get_info.unwrap()(plugin, index, &mut info));
            info
        };
        (0..count).map(info).collect()
    }
}

fn name(info: &clap_param_info) -> String {
    let bytes = info.name.iter().map(|&c| c as u8);
    bytes.take_while(|&b| b != 0).map(char::from).collect()
}

fn id(plugin: &clap_plugin, wanted: &str) -> u32 {
    let infos = infos(plugin);
    let found = infos.iter().find(|info| name(info) == wanted);
    found.unwrap_or_else(|| panic!("no {wanted}")).id
}

fn value(plugin: &clap_plugin, id: u32) -> f64 {
    let mut value = f64::NAN;
    // SAFETY: the pointer is valid.
    assert!(unsafe { params(plugin).get_value.unwrap()(plugin, id, &mut value) });
    value
}

fn usual() -> Instance {
    open(Session::default())
}

fn stereo(frames: usize) -> [Vec<f32>; 2] {
    [noise(frames, 1), noise(frames, 2)]
}

#[test]
fn events_in_any_order_at_any_time_and_by_the_thousand_end_on_the_last_value() {
    let instance = usual();
    let plugin = instance.raw();
    let id = id(plugin, "Width");
    let at = |time, value| Event::value(time, id, value);
    let (mut foreign, mut short) = (at(3, 0.1), at(4, 0.1));
    foreign.header_mut().unwrap().space_id = 77;
    short.header_mut().unwrap().size = 20;
    let cases: [Vec<Event>; 5] = [
        vec![at(300, 0.1), at(20, 0.9), at(100, 0.7)],
        vec![at(BLOCK as u32, 0.2), at(u32::MAX, 0.7)],
        vec![
            at(0, 0.7),
            foreign,
            short,
            Event::Null,
            Event::value(9, 12_345, 0.5),
        ],
        vec![
            at(5, f64::NAN),
            at(6, f64::INFINITY),
            at(7, -3e9),
            at(8, 0.7),
        ],
        (0..5_000)
            .map(|n| at(n / 10, f64::from(n % 7) / 7.0))
            .chain([at(511, 0.7)])
            .collect(),
    ];
    for (case, events) in cases.into_iter().enumerate() {
        let mut channels = stereo(BLOCK);
        let status = pass(plugin, &mut channels, None, &events);
        assert_ne!(status, CLAP_PROCESS_ERROR, "case {case}");
        assert!(channels.iter().flatten().all(|x| x.is_finite()));
        // Half a step of an `f32` over 200 %.
        assert!((value(plugin, id) - 0.7).abs() < 1e-5, "case {case}");
    }
}

#[test]
fn events_of_a_flush_are_taken_whatever_their_time() {
    let instance = usual();
    let plugin = instance.raw();
    let id = id(plugin, "Width");
    let events = vec![
        Event::value(9_999, id, 0.2),
        Event::Null,
        Event::value(5, id, 0.4),
    ];
    // SAFETY: the list outlives the call.
    unsafe { params(plugin).flush.unwrap()(plugin, &list(&events), null()) };
    assert!((value(plugin, id) - 0.4).abs() < 1e-5);
}

#[test]
fn an_instance_that_does_not_run_takes_what_a_flush_brings() {
    let instance = usual();
    let plugin = instance.raw();
    let (width, mode) = (id(plugin, "Width"), id(plugin, "Mode"));
    let events = vec![Event::value(0, width, 0.3), Event::value(0, mode, 1.0)];
    // SAFETY: CLAP's order of calls; the list outlives the call.
    unsafe {
        plugin.stop_processing.unwrap()(plugin);
        plugin.deactivate.unwrap()(plugin);
        params(plugin).flush.unwrap()(plugin, &list(&events), null());
        assert!((value(plugin, width) - 0.3).abs() < 1e-5);
        assert_eq!(value(plugin, mode), 1.0);
        assert!(plugin.activate.unwrap()(plugin, 48_000.0, 1, BLOCK as u32));
        assert!(plugin.start_processing.unwrap()(plugin));
    }
    assert!((value(plugin, width) - 0.3).abs() < 1e-5);
}

#[test]
fn the_last_points_of_a_dense_line_count_and_a_switch_between_them_does() {
    let instance = usual();
    let plugin = instance.raw();
    let (output, bypass) = (id(plugin, "Output"), id(plugin, "Bypass"));
    let mut events: Vec<Event> = (0..BLOCK)
        .map(|at| Event::value(at as u32, output, -6.0 * (at + 1) as f64 / BLOCK as f64))
        .collect();
    events.insert(BLOCK - 2, Event::value(BLOCK as u32 - 3, bypass, 1.0));
    pass(plugin, &mut stereo(BLOCK), None, &events);
    assert_eq!(value(plugin, output), -6.0);
    assert_eq!(value(plugin, bypass), 1.0);
    // Found by the fuzz: one that is late in the list and early in time, behind one that waits, led back to where it was.
    events = (0..BLOCK)
        .map(|at| Event::value(at as u32, output, -(at as f64) / BLOCK as f64))
        .collect();
    events.push(Event::value(3, bypass, 0.0));
    pass(plugin, &mut stereo(BLOCK), None, &events);
    assert_eq!(value(plugin, bypass), 0.0);
}

/// Running at 120 bpm, this many seconds into the song.
pub fn running(seconds: f64) -> clap_event_transport {
    // SAFETY: numbers, of which the flags say which are meant.
    let mut transport: clap_event_transport = unsafe { zeroed() };
    transport.flags = CLAP_TRANSPORT_HAS_TEMPO
        | CLAP_TRANSPORT_HAS_BEATS_TIMELINE
        | CLAP_TRANSPORT_HAS_SECONDS_TIMELINE
        | CLAP_TRANSPORT_HAS_TIME_SIGNATURE
        | CLAP_TRANSPORT_IS_PLAYING;
    let fixed = |x: f64| (x * f64::from(1_u32 << 31)).round() as i64;
    transport.tempo = 120.0;
    transport.song_pos_seconds = fixed(seconds);
    transport.song_pos_beats = fixed(2.0 * seconds);
    transport.bar_start = fixed(4.0 * (seconds / 2.0).floor());
    (transport.tsig_num, transport.tsig_denom) = (4, 4);
    transport
}

#[test]
fn a_loop_that_wraps_inside_a_block_is_where_two_blocks_would_be() {
    let swept = || {
        let mut instance = usual();
        instance.set("mode", 1.0).unwrap();
        instance.set("motion", 1.0).unwrap();
        instance.restart().unwrap();
        instance
    };
    let (whole, halves) = (swept(), swept());
    let (from, to) = (running(7.9), running(0.5));
    for round in 0..8 {
        let (mut one, two) = (stereo(BLOCK), stereo(BLOCK));
        pass(
            whole.raw(),
            &mut one,
            Some(&from),
            &vec![Event::place(256, to)],
        );
        for (half, place) in [(0, from), (256, to)] {
            let mut part = [
                two[0][half..half + 256].to_vec(),
                two[1][half..half + 256].to_vec(),
            ];
            pass(halves.raw(), &mut part, Some(&place), &vec![]);
            for (one, part) in one.iter().zip(&part) {
                assert!(
                    one[half..half + 256] == part[..],
                    "round {round}, from {half}"
                );
            }
        }
    }
}

#[test]
fn information_on_a_parameter_that_there_is_not_is_refused() {
    let instance = usual();
    let plugin = instance.raw();
    let count = infos(plugin).len() as u32;
    for index in [count, count + 1, u32::MAX] {
        // SAFETY: plain data that the plugin fills.
        unsafe {
            let mut info = zeroed();
            assert!(!params(plugin).get_info.unwrap()(plugin, index, &mut info));
        }
    }
}

#[test]
fn only_what_is_continuous_can_be_modulated_and_choices_are_said_to_be_some() {
    let instance = usual();
    let plugin = instance.raw();
    for info in infos(plugin) {
        let (flags, name) = (info.flags, name(&info));
        let is = |flag| flags & flag != 0;
        assert!(
            !(is(CLAP_PARAM_IS_STEPPED) && is(CLAP_PARAM_IS_MODULATABLE)),
            "{name}"
        );
        assert!(
            !(is(CLAP_PARAM_IS_BYPASS) && is(CLAP_PARAM_IS_MODULATABLE)),
            "{name}"
        );
        assert!(
            !is(CLAP_PARAM_IS_ENUM) || is(CLAP_PARAM_IS_STEPPED),
            "{name}"
        );
        assert_eq!(
            is(CLAP_PARAM_IS_ENUM),
            [
                "Mode",
                "Monitor",
                "Anchor",
                "Match",
                "Drum",
                "Polarity",
                "Tape speed",
                "Equalisation",
                "Motion",
                "Length",
                "Curve"
            ]
            .contains(&&*name),
            "{name}"
        );
    }
}

#[test]
fn modulation_is_heard_and_the_value_stays_the_hosts() {
    let instance = usual();
    let plugin = instance.raw();
    let (output, bypass) = (id(plugin, "Output"), id(plugin, "Bypass"));
    let before = (value(plugin, output), value(plugin, bypass));
    let mut state = stereo(BLOCK);
    let events = vec![
        Event::offset(0, output, -10.8),
        Event::offset(0, bypass, 1.0),
    ];
    for _ in 0..20 {
        state = stereo(BLOCK);
        pass(plugin, &mut state, None, &events);
    }
    assert_eq!((value(plugin, output), value(plugin, bypass)), before);
    let loud = stereo(BLOCK)[0].iter().fold(0.0_f32, |a, b| a.max(b.abs()));
    let heard = state[0].iter().fold(0.0_f32, |a, b| a.max(b.abs()));
    assert!(heard < 0.6 * loud && heard > 0.0, "{heard} of {loud}");
}

#[test]
fn the_tail_ends() {
    let mut instance = usual();
    let status = pass(instance.raw(), &mut stereo(BLOCK), None, &vec![]);
    assert_eq!(status, CLAP_PROCESS_TAIL);
    let tail = instance.tail().unwrap();
    assert!(tail > 0 && tail < 48_000, "{tail}");
}

#[test]
fn nothing_subnormal_comes_out_whatever_comes_in() {
    let instance = usual();
    let plugin = instance.raw();
    let infos = infos(plugin);
    let mut random = fastrand::Rng::with_seed(5);
    for count in 0..2_000 {
        let level = 10_f32.powi(-(count % 45));
        let mut channels = stereo(BLOCK);
        channels.iter_mut().flatten().for_each(|x| *x *= level);
        let mut events = Vec::new();
        for info in &infos {
            let (time, value) = ((random.f64() * 600.0) as u32, random.f64() * info.max_value);
            if random.f64() < 0.1 {
                events.push(Event::value(time, info.id, value));
            }
        }
        pass(plugin, &mut channels, None, &events);
        let bad = channels
            .iter()
            .flatten()
            .find(|x| **x != 0.0 && !x.is_normal());
        assert_eq!(bad, None, "block {count}");
    }
}
