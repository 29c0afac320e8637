//! Opening, saving, loading and restarting an instance.

use crate::library::{open, run};
use clap_sys::audio_buffer::clap_audio_buffer;
use clap_sys::plugin::clap_plugin;
use clap_sys::process::{CLAP_PROCESS_ERROR, clap_process};
use plumbline_hosting::{Instance, Session, noise};
use serde_json::{Value, json};
use std::ptr::{null, null_mut};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};

fn block(instance: &mut Instance) {
    let mut main = vec![noise(256, 1), noise(256, 2)];
    run(instance, &mut main, &vec![vec![0.0; 256]; 2], || 256);
}

/// A third of a second, in which a knob comes to rest.
fn rest(instance: &mut Instance) {
    (0..64).for_each(|_| block(instance));
}

/// A state as the plugin would save it, with this measurement.
fn state_with(instance: &mut Instance, measurement: &Value) -> Vec<u8> {
    let saved = instance.save().unwrap();
    let mut state: Value = serde_json::from_slice(&saved[8..]).unwrap();
    state["fields"]["measurement"] = measurement.to_string().into();
    framed(state.to_string().as_bytes())
}

/// With the length in front, as the framework writes it for CLAP.
fn framed(json: &[u8]) -> Vec<u8> {
    [&(json.len() as u64).to_le_bytes(), json].concat()
}

fn lag(seconds: f64) -> Value {
    json!({"attack_s": seconds, "body_s": seconds, "spread_s": 1e-6, "polarity": "inverted", "confidence": 0.9})
}

fn measured() -> Value {
    json!({
        "version": 1, "hits": 5, "temperature_c": 20.0,
        "refused": {"clipped": 1, "crowded": 2, "buried": 3},
        "gap": lag(0.000_5), "spot_to_first": lag(0.002), "spot_to_second": lag(0.002_5),
        "voices": [{"name": "spot", "hits": 5, "gap_s": 0.000_5, "spread_s": 1e-6}],
        "log": [{"at_s": 1.0, "outcome": "counted", "voice": 0, "gap_s": 0.000_5, "spot_to_first_s": 0.002},
            {"at_s": 2.0, "outcome": "buried"}],
    })
}

#[test]
fn parameters_show_what_was_set_after_a_block() {
    let mut instance = open(Session::default());
    instance.set("anchor", 3.0).unwrap();
    instance.set("spot_trim", -12.5).unwrap();
    instance.set_text("match", "Body").unwrap();
    block(&mut instance);
    assert_eq!(instance.text("anchor").unwrap(), "Spot");
    assert_eq!(instance.get("match").unwrap(), 1.0);
    assert!((instance.get("spot_trim").unwrap() + 12.5).abs() < 1e-5);
    assert_eq!(instance.text("spot_trim").unwrap(), "-12.500 ms");
    assert!(instance.set("no_such", 0.0).is_err());
}

#[test]
fn a_new_reach_mode_or_print_reaches_the_host_through_one_restart_and_the_audio_with_it() {
    let mut instance = open(Session::default());
    assert!(!instance.wants_restart(), "a restart right after the start");
    assert_eq!(instance.latency_changes(), 1, "told once, while activating");
    let plain = instance.latency();
    // 12 ms that the moving deck may lead, and half a kernel to read it between samples.
    let decks = 576 + 32;
    for (id, value, due) in [
        ("reach", 10.0, plain + 480),
        ("mode", 1.0, plain + 480 + decks),
        ("reach", 0.0, plain + decks),
        ("print", 1.0, plain + decks + 72),
        ("mode", 0.0, plain + 72),
        ("print", 0.0, plain),
    ] {
        let (before, told) = (instance.latency(), instance.latency_changes());
        instance.set(id, value).unwrap();
        rest(&mut instance);
        assert_eq!(instance.latency(), before, "the latency stays while active");
        assert!(
            instance.restart_if_requested().unwrap(),
            "{id} asks for a restart"
        );
        assert_eq!(instance.latency(), due);
        assert_eq!(instance.latency_changes(), told + 1);
        block(&mut instance);
        assert!(!instance.wants_restart(), "one restart is enough");
        instance.reset();
        let mut main = vec![vec![0.0; 4_000]; 2];
        main[1][0] = 1.0;
        run(&mut instance, &mut main, &vec![vec![0.0; 4_000]; 2], || 512);
        // The print rounds the impulse; without it, it is the only sample.
        let peak = main[1].iter().fold(0.0f32, |peak, x| x.abs().max(peak));
        assert_eq!(
            main[1].iter().position(|x| x.abs() == peak),
            Some(due as usize)
        );
    }
}

#[test]
fn a_knob_that_is_turned_back_before_the_restart_asks_for_nothing_more() {
    let mut instance = open(Session::default());
    let latency = instance.latency();
    instance.set("reach", 5.0).unwrap();
    rest(&mut instance);
    instance.set("reach", 0.0).unwrap();
    block(&mut instance);
    assert!(instance.restart_if_requested().unwrap());
    assert_eq!(
        (instance.latency(), instance.latency_changes()),
        (latency, 1)
    );
    block(&mut instance);
    assert!(!instance.wants_restart());
}

#[test]
fn a_drag_of_reach_asks_for_one_restart_once_the_hand_is_still() {
    let mut instance = open(Session::default());
    let latency = instance.latency();
    for step in 1..=200 {
        instance.set("reach", f64::from(step) / 20.0).unwrap();
        block(&mut instance);
        assert!(!instance.wants_restart(), "step {step}");
    }
    rest(&mut instance);
    assert!(instance.restart_if_requested().unwrap());
    assert_eq!(instance.latency(), latency + 480);
    rest(&mut instance);
    assert!(!instance.wants_restart());
}

#[test]
fn a_session_comes_back_as_it_was_saved() {
    let mut from = open(Session::default());
    for (id, value) in [
        ("amount", 42.0),
        ("polarity", 1.0),
        ("output", 3.0),
        ("bypass", 1.0),
        ("reach", 4.0),
    ] {
        from.set(id, value).unwrap();
    }
    let state = {
        let with = state_with(&mut from, &measured());
        from.load(&with).unwrap();
        from.restart().unwrap();
        from.set("anchor", 1.0).unwrap();
        block(&mut from);
        from.save().unwrap()
    };
    let mut to = open(Session::default());
    to.load(&state).unwrap();
    assert_eq!(to.measurement().unwrap().unwrap().hits, 5);
    to.restart().unwrap();
    block(&mut to);
    assert_eq!(to.save().unwrap(), state);
    assert_eq!(to.latency(), from.latency());
}

#[test]
fn a_measurement_survives_another_sample_rate_in_seconds() {
    let mut instance = open(Session::default());
    let state = state_with(&mut instance, &measured());
    instance.load(&state).unwrap();
    for sample_rate in [44_100.0, 96_000.0, 48_000.0] {
        instance
            .reopen(&Session {
                sample_rate,
                ..Session::default()
            })
            .unwrap();
        let mut main = vec![vec![0.0; 2_000]; 2];
        main[0][0] = 1.0;
        run(&mut instance, &mut main, &vec![vec![0.0; 2_000]; 2], || 512);
        let saved = instance.measurement().unwrap().unwrap();
        assert_eq!(saved.gap.unwrap().attack_s, 0.000_5);
        // The first is 0.5 ms early: it is held back by as much, the polarity of the second is reversed.
        assert_eq!(
            (saved.applied.first_s, saved.applied.second_s),
            (0.000_5, 0.0)
        );
        assert!(saved.applied.flip);
        let loudest = main[0].iter().map(|x| x.abs()).fold(0.0, f32::max);
        let at = main[0].iter().position(|x| x.abs() == loudest).unwrap() as f64;
        let due = f64::from(instance.latency()) + 0.000_5 * sample_rate;
        assert!((at - due).abs() <= 0.5, "{sample_rate}: {at} for {due}");
    }
}

#[test]
fn a_state_of_a_newer_version_keeps_what_this_one_does_not_know() {
    let mut instance = open(Session::default());
    let mut newer = measured();
    newer["version"] = 7.into();
    newer["drawing"] = json!({"ink": "blue"});
    let state = state_with(&mut instance, &newer);
    instance.load(&state).unwrap();
    block(&mut instance);
    let saved = instance.save().unwrap();
    let state: Value = serde_json::from_slice(&saved[8..]).unwrap();
    let kept: Value =
        serde_json::from_str(state["fields"]["measurement"].as_str().unwrap()).unwrap();
    assert_eq!((&kept["version"], &kept["hits"]), (&7.into(), &5.into()));
    assert_eq!(kept["drawing"]["ink"], "blue");
}

#[test]
fn garbage_for_a_state_is_refused_or_ignored_and_the_session_goes_on() {
    let mut instance = open(Session::default());
    let state = state_with(&mut instance, &measured());
    instance.load(&state).unwrap();
    let refused: [&[u8]; 6] = [
        b"",
        b"abc",
        &u64::MAX.to_le_bytes(),
        &framed(b"not json"),
        &framed(b"[1, 2, 3]"),
        &state[..state.len() / 2],
    ];
    for garbage in refused {
        assert!(instance.load(garbage).is_err(), "{garbage:?}");
    }
    for garbage in [
        "7",
        "null",
        "\"text\"",
        "{\"hits\": [], \"gap\": 1e300}",
        "{\"log\": {\"a\": [[[[]]]]}}",
        "{",
    ] {
        let saved = instance.save().unwrap();
        let mut state: Value = serde_json::from_slice(&saved[8..]).unwrap();
        state["fields"]["measurement"] = garbage.into();
        state["params"]["reach"] = "far".into();
        state["params"]["unheard_of"] = json!({"f32": 1.0});
        let _ = instance.load(&framed(state.to_string().as_bytes()));
        block(&mut instance);
        assert!(instance.measurement().unwrap().is_some());
    }
    assert_eq!(instance.get("reach").unwrap(), 0.0);
}

#[test]
fn a_loaded_measurement_moves_the_audio_at_the_next_block() {
    let mut instance = open(Session::default());
    let state = state_with(&mut instance, &measured());
    block(&mut instance);
    instance.load(&state).unwrap();
    block(&mut instance);
    let saved = instance.measurement().unwrap().unwrap();
    assert_eq!(saved.applied.first_s, 0.000_5);
    // Of the refused, "crowded" is a count of former versions: no stroke is refused for that any more.
    assert_eq!(
        (saved.refused.total(), saved.log.len(), saved.drums.len()),
        (4, 2, 1)
    );
}

#[test]
fn too_little_reach_is_applied_as_far_as_it_goes_and_the_rest_is_reported() {
    let mut instance = open(Session::default());
    let state = state_with(&mut instance, &measured());
    instance.load(&state).unwrap();
    instance.set("anchor", 1.0).unwrap();
    instance.set("reach", 0.2).unwrap();
    instance.restart().unwrap();
    block(&mut instance);
    let saved = instance.measurement().unwrap().unwrap();
    assert!((saved.applied.second_s + 0.000_2).abs() < 1e-8);
    assert!((saved.missing_reach_s - 0.000_3).abs() < 1e-8);
}

#[test]
fn controllers_find_pages_of_parameters() {
    let mut instance = open(Session::default());
    let pages = instance.remote_control_pages().unwrap();
    assert_eq!(
        pages,
        [
            ("Align".into(), 8),
            ("Listen".into(), 4),
            ("Set-up".into(), 5),
            ("Print".into(), 8),
            ("Decks".into(), 8),
            ("Motion".into(), 8),
            ("Pass".into(), 3)
        ]
    );
}

/// A plugin's pointer on its way to the audio thread.
struct Audio<'a>(&'a clap_plugin);

// SAFETY: CLAP lets one thread process while the main thread saves, loads and asks.
unsafe impl Send for Audio<'_> {}

impl Audio<'_> {
    /// One block of noise.
    fn process(&self) {
        let mut channels = [noise(64, 1), noise(64, 2)];
        let mut pointers = channels.each_mut().map(|c| c.as_mut_ptr());
        let mut main = clap_audio_buffer {
            data32: pointers.as_mut_ptr(),
            data64: null_mut(),
            channel_count: 2,
            latency: 0,
            constant_mask: 0,
        };
        let block = clap_process {
            steady_time: -1,
            frames_count: 64,
            transport: null(),
            audio_inputs: &main.clone(),
            audio_outputs: &mut main,
            audio_inputs_count: 1,
            audio_outputs_count: 1,
            in_events: null(),
            out_events: null(),
        };
        // SAFETY: the buffers are as long as the block.
        let status = unsafe { self.0.process.unwrap()(self.0, &block) };
        assert_ne!(status, CLAP_PROCESS_ERROR);
    }
}

#[test]
fn saving_and_loading_while_another_thread_processes() {
    let mut instance = open(Session::default());
    instance.set("measure", 1.0).unwrap();
    block(&mut instance);
    let states = [measured(), json!({"hits": 1})].map(|saved| state_with(&mut instance, &saved));
    let raw: *const clap_plugin = instance.raw();
    // SAFETY: the instance outlives the scope.
    let audio = Audio(unsafe { &*raw });
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let audio = audio;
            while !stop.load(Relaxed) {
                audio.process();
            }
        });
        for turn in 0..200 {
            instance.load(&states[turn % 2]).unwrap();
            let hits = instance.measurement().unwrap().unwrap().hits;
            assert_eq!(hits, [5, 1][turn % 2]);
        }
        stop.store(true, Relaxed);
    });
    block(&mut instance);
    assert_eq!(instance.measurement().unwrap().unwrap().hits, 1);
}
