//! States as hosts store them, and as time and accidents leave them.

use crate::library::{open, run};
use crate::vst3::host::{Render, Vst3};
use crate::vst3::objects::number;
use clap_sys::ext::state_context::{
    CLAP_EXT_STATE_CONTEXT, CLAP_STATE_CONTEXT_FOR_PRESET, CLAP_STATE_CONTEXT_FOR_PROJECT,
    clap_plugin_state_context,
};
use clap_sys::stream::clap_istream;
use plumbline_hosting::{Instance, Session, noise};
use serde_json::{Value, json};
use std::ffi::c_void;
use vst3::Steinberg::Vst::IEditControllerTrait;
use vst3::Steinberg::kResultOk;

/// A state as the CLAP stores it: its length, then JSON.
fn stored(state: &Value) -> Vec<u8> {
    let text = state.to_string().into_bytes();
    [&(text.len() as u64).to_le_bytes()[..], &text].concat()
}

fn json_of(state: &[u8]) -> Value {
    serde_json::from_slice(&state[8..]).expect("JSON")
}

fn state(params: Value, measurement: &Value) -> Value {
    json!({"version": "0.0.1", "params": params, "fields": {"measurement": measurement.to_string(), "desk": json!({"width": 900.0}).to_string()}})
}

#[test]
fn what_an_old_state_does_not_know_gets_its_default() {
    let mut instance = open(Session::default());
    let fresh = json_of(&instance.save().unwrap());
    let full = state(
        json!({"output": {"f32": -6.0}, "monitor": {"string": "mono"}, "bypass": {"bool": true}}),
        &json!({"hits": 3}),
    );
    instance.load(&stored(&full)).unwrap();
    let old = json!({"version": "", "params": {"nudge_first": {"f32": 1.0}}, "fields": {}});
    instance.load(&stored(&old)).unwrap();
    let mut loaded = json_of(&instance.save().unwrap());
    assert_eq!(loaded["params"]["nudge_first"]["f32"], 1.0);
    loaded["params"]["nudge_first"] = fresh["params"]["nudge_first"].clone();
    assert_eq!(loaded["params"], fresh["params"]);
    assert_eq!(instance.measurement().unwrap().map_or(0, |m| m.hits), 0);
}

#[test]
fn what_only_a_newer_version_knows_survives_loading_and_saving_any_number_of_times() {
    let mut newer = state(
        json!({"output": {"f32": -6.0}, "warp": {"f32": 0.25}, "colour": {"string": "blue"}}),
        &json!({"hits": 3, "room": {"depth_m": 4.5}}),
    );
    newer["fields"]["patchbay"] = json!("{\"rows\": 2}");
    let mut saved = stored(&newer);
    for _ in 0..3 {
        let mut instance = open(Session::default());
        instance.load(&saved).unwrap();
        saved = instance.save().unwrap();
    }
    let saved = json_of(&saved);
    let field = |name: &str| -> Value {
        serde_json::from_str(saved["fields"][name].as_str().unwrap()).unwrap()
    };
    let kept = field("newer");
    assert_eq!(kept["params"]["warp"]["f32"], 0.25);
    assert_eq!(kept["params"]["colour"]["string"], "blue");
    assert_eq!(kept["fields"]["patchbay"], "{\"rows\": 2}");
    assert_eq!(field("measurement")["room"]["depth_m"], 4.5);
    assert_eq!(saved["params"]["output"]["f32"], -6.0);
}

#[test]
fn numbers_out_of_range_come_back_into_it() {
    let absurd = json!({
        "output": {"f32": 1e30}, "nudge_first": {"f32": -4e9}, "amount": {"i32": 700},
        "mode": {"i32": 99}, "monitor": {"string": "quadraphonic"}, "bypass": {"f32": 3.0},
    });
    let absurd = state(absurd, &json!({"hits": -1}));
    let mut instance = open(Session::default());
    instance.load(&stored(&absurd)).unwrap();
    assert_eq!(instance.get("output").unwrap(), 12.0);
    assert_eq!(instance.get("nudge_first").unwrap(), -5.0);
    assert_eq!(instance.get("amount").unwrap(), 100.0);
    assert_eq!(instance.get("monitor").unwrap(), 0.0);
    let plugin = Vst3::new();
    assert_eq!(plugin.load(absurd.to_string().as_bytes()), kResultOk);
    // SAFETY: plain data.
    let read = |id| unsafe { plugin.controller.getParamNormalized(number(id)) };
    assert_eq!(
        (read("output"), read("nudge_first"), read("bypass")),
        (1.0, 0.0, 0.0)
    );
}

#[test]
fn monitor_and_compare_are_for_the_ear_and_not_kept() {
    let mut instance = open(Session::default());
    let mono = json!({
        "monitor": {"string": "mono"}, "compare": {"bool": true}, "output": {"f32": -6.0}
    });
    instance
        .load(&stored(&state(mono, &json!({"hits": 0}))))
        .unwrap();
    assert_eq!(instance.get("monitor").unwrap(), 0.0);
    assert_eq!(instance.get("compare").unwrap(), 0.0);
    assert_eq!(instance.get("output").unwrap(), -6.0);
}

#[test]
fn an_offline_render_with_measure_on_uses_the_measurement_that_is_there() {
    let mut instance = open(Session {
        offline: true,
        ..Session::default()
    });
    let gap = json!({"attack_s": 1e-4, "body_s": 1e-4, "spread_s": 1e-6, "polarity": "same", "confidence": 0.9});
    let session = state(
        json!({"measure": {"bool": true}}),
        &json!({"hits": 3, "gap": gap}),
    );
    instance.load(&stored(&session)).unwrap();
    instance.restart().unwrap();
    let mut main = vec![noise(48_000, 1), noise(48_000, 2)];
    // Strokes that would be measured.
    main.iter_mut().flatten().enumerate().for_each(|(n, x)| {
        *x *= (-((n % 12_000) as f32) / 500.0).exp();
    });
    let spot = vec![main[0].clone(); 2];
    run(&mut instance, &mut main, &spot, || 512);
    assert_eq!(instance.measurement().unwrap().unwrap().hits, 3);
}

/// What is left of a stored state.
unsafe extern "C" fn read(stream: *const clap_istream, to: *mut c_void, size: u64) -> i64 {
    // SAFETY: made by `load_for`; the plugin has room for what it asks for.
    unsafe {
        let left = &mut *(*stream).ctx.cast::<&[u8]>();
        let count = left.len().min(size as usize);
        to.cast::<u8>()
            .copy_from_nonoverlapping(left.as_ptr(), count);
        *left = &left[count..];
        count as i64
    }
}

fn load_for(instance: &Instance, purpose: u32, mut state: &[u8]) -> bool {
    let stream = clap_istream {
        ctx: (&raw mut state).cast(),
        read: Some(read),
    };
    let plugin = instance.raw();
    // SAFETY: the stream outlives the call.
    unsafe {
        let context = plugin.get_extension.unwrap()(plugin, CLAP_EXT_STATE_CONTEXT.as_ptr());
        let context = context
            .cast::<clap_plugin_state_context>()
            .as_ref()
            .unwrap();
        context.load.unwrap()(plugin, &stream, purpose)
    }
}

#[test]
fn a_preset_leaves_the_measurement_and_the_window_alone() {
    let mut instance = open(Session::default());
    let session = state(json!({"output": {"f32": -3.0}}), &json!({"hits": 3}));
    assert!(load_for(
        &instance,
        CLAP_STATE_CONTEXT_FOR_PROJECT,
        &stored(&session)
    ));
    let window = json_of(&instance.save().unwrap())["fields"]["desk"].clone();
    let mut preset = state(json!({"output": {"f32": -9.0}}), &json!({"hits": 8}));
    preset["fields"]["desk"] = json!("{\"width\": 1200.0}");
    assert!(load_for(
        &instance,
        CLAP_STATE_CONTEXT_FOR_PRESET,
        &stored(&preset)
    ));
    assert_eq!(instance.get("output").unwrap(), -9.0);
    assert_eq!(instance.measurement().unwrap().unwrap().hits, 3);
    assert_eq!(json_of(&instance.save().unwrap())["fields"]["desk"], window);
    assert!(load_for(
        &instance,
        CLAP_STATE_CONTEXT_FOR_PROJECT,
        &stored(&preset)
    ));
    assert_eq!(instance.measurement().unwrap().unwrap().hits, 8);
}

/// A kind of state, as a host of VST3 says it; `None`: it says nothing.
fn load_kind(plugin: &Vst3, kind: Option<&'static str>, state: &Value) {
    let bytes = state.to_string().into_bytes();
    let result = match kind {
        Some(kind) => plugin.load_kind(kind, &bytes),
        None => plugin.load(&bytes),
    };
    assert_eq!(result, kResultOk, "{kind:?}");
}

fn vst3_json(plugin: &Vst3) -> Value {
    serde_json::from_slice(&plugin.save()).expect("JSON")
}

/// Hits of the measurement in a state.
fn hits(state: &Value) -> Value {
    let measurement = state["fields"]["measurement"].as_str().unwrap();
    serde_json::from_str::<Value>(measurement).unwrap()["hits"].clone()
}

#[test]
fn a_vst3_preset_leaves_the_measurement_and_the_window_alone() {
    let session = state(json!({"output": {"f32": -3.0}}), &json!({"hits": 3}));
    let mut other = state(json!({"output": {"f32": -9.0}}), &json!({"hits": 8}));
    other["fields"]["desk"] = json!("{\"width\": 1200.0}");
    let unterminated: &str = "P".repeat(200).leak();
    for (kind, is_preset) in [
        (None, false),
        (Some("Project"), false),
        (Some(""), false),
        (Some("Default"), true),
        (Some("TrackPreset"), true),
        (Some(unterminated), false),
    ] {
        for active in [false, true] {
            let case = format!("{kind:?}, active: {active}");
            let plugin = Vst3::new();
            if active {
                plugin.start(Render::Realtime);
            }
            load_kind(&plugin, Some("Project"), &session);
            let before = vst3_json(&plugin);
            assert_eq!(hits(&before), 3, "{case}");
            load_kind(&plugin, kind, &other);
            let after = vst3_json(&plugin);
            assert_eq!(after["params"]["output"]["f32"], -9.0, "{case}");
            assert_eq!(hits(&after), if is_preset { 3 } else { 8 }, "{case}");
            let same = before["fields"]["desk"] == after["fields"]["desk"];
            assert_eq!(same, is_preset, "{case}");
        }
    }
}
