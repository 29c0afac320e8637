//! Starting points and presets through each format's own ways: what they set, and what they leave alone.

use crate::library::{open, strict};
use crate::vst3::host::Vst3;
use crate::vst3::objects::number;
use plumbline_hosting::{Bundle, Instance, Session, StartingPoint, noise};
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use vst3::Steinberg::Vst::IEditControllerTrait;
use vst3::Steinberg::kResultOk;

fn bundle() -> &'static Bundle {
    strict()
}

/// A session that has everything that a preset must not touch, and settings that no starting point has.
fn session() -> Value {
    let params = json!({
        "mode": {"string": "sweep"}, "measure": {"bool": true}, "drum": {"string": "picked"},
        "polarity": {"string": "flipped"}, "nudge_first": {"f32": 0.75}, "nudge_second": {"f32": -0.5},
        "spot_trim": {"f32": 3.25}, "temperature": {"f32": 31.0}, "null_at": {"f32": 17.25},
        "bypass": {"bool": true}, "output": {"f32": -2.5}, "amount": {"f32": 41.0},
        "correct": {"bool": false}, "range": {"f32": 7.0}, "offset": {"f32": 4.5}, "wow": {"f32": 0.33},
        "flutter": {"f32": 0.21}, "rate": {"f32": 2.0}, "ease": {"f32": 1.7}, "drag": {"f32": 33.0},
        "width": {"f32": 12.0}, "blend": {"f32": 77.0}, "flip": {"bool": true},
        "engage": {"bool": false}, "reach": {"f32": 7.0}, "spot_level": {"f32": -11.0},
        "tape_level": {"f32": 1.5}, "hiss": {"f32": -61.0}
    });
    let measurement = json!({"hits": 9, "notes": {"lines": ["kept"]}});
    json!({"version": "0.1.0", "params": params, "fields": {
        "measurement": measurement.to_string(),
        "desk": json!({"width": 903.0, "paper": "dark"}).to_string()
    }})
}

/// A state as the CLAP stores it: its length, then JSON.
fn stored(state: &Value) -> Vec<u8> {
    let text = state.to_string().into_bytes();
    [&(text.len() as u64).to_le_bytes()[..], &text].concat()
}

fn json_of(state: &[u8]) -> Value {
    serde_json::from_slice(state).expect("JSON")
}

fn params(state: &Value) -> &Map<String, Value> {
    state["params"].as_object().expect("parameters")
}

/// Ids of the parameters that differ between two states.
fn changed(before: &Value, after: &Value) -> BTreeSet<String> {
    let (before, after) = (params(before), params(after));
    assert_eq!(before.len(), after.len());
    let changed = before.iter().filter(|(id, value)| after[*id] != **value);
    changed.map(|(id, _)| id.clone()).collect()
}

/// What has changed is held, what is held is what a fresh instance has of it, and the take is as it was.
fn check(label: &str, start: &StartingPoint, states: (&Value, &Value, &Value)) {
    let (before, after, fresh) = states;
    let held: BTreeSet<String> = start.holds.iter().cloned().collect();
    let changed = changed(before, after);
    assert!(changed.is_subset(&held), "{label}: {changed:?} of {held:?}");
    assert!(changed.len() > 4, "{label}: only {changed:?}");
    for id in &held {
        assert_eq!(params(after)[id], params(fresh)[id], "{label}: {id}");
    }
    assert_eq!(before["fields"]["desk"], after["fields"]["desk"], "{label}");
    assert_eq!(measured(before), measured(after), "{label}");
}

/// What was measured and noted; what the audio thread makes of it at the moment is the settings' doing.
fn measured(state: &Value) -> Value {
    let text = state["fields"]["measurement"]
        .as_str()
        .expect("a measurement");
    let mut measurement = json_of(text.as_bytes());
    let fields = measurement.as_object_mut().expect("fields");
    fields.remove("applied");
    fields.remove("missing_reach_s");
    measurement
}

/// A fresh instance after the starting point: what the held parameters must be.
fn fresh(start: &StartingPoint) -> Value {
    let mut instance = open(Session::default());
    instance.call_up(start).unwrap();
    json_of(&instance.save().unwrap()[8..])
}

fn block(instance: &mut Instance) {
    let (mut first, mut second, spot) = (noise(64, 1), noise(64, 2), noise(64, 3));
    instance
        .process(&mut [&mut first, &mut second], &[&spot, &spot])
        .unwrap();
}

#[test]
fn a_browser_finds_at_least_sixteen_for_both_modes() {
    let starts = bundle().starting_points().unwrap();
    let of = |mode: &str| {
        starts
            .iter()
            .filter(|start| start.features == [mode])
            .count()
    };
    println!(
        "{} starting points: {} of Align, {} of Sweep",
        starts.len(),
        of("align"),
        of("sweep")
    );
    assert!(starts.len() >= 16 && of("align") >= 6 && of("sweep") >= 6);
    for start in &starts {
        assert!(start.about.len() > 20 && start.holds.len() > 5, "{start:?}");
    }
}

#[test]
fn clap_calls_them_up_and_leaves_the_take_alone() {
    let starts = bundle().starting_points().unwrap();
    for start in &starts {
        let mut instance = open(Session::default());
        instance.load(&stored(&session())).unwrap();
        block(&mut instance);
        let before = json_of(&instance.save().unwrap()[8..]);
        instance.call_up(start).unwrap();
        block(&mut instance);
        let after = json_of(&instance.save().unwrap()[8..]);
        check(
            &format!("CLAP, {}", start.name),
            start,
            (&before, &after, &fresh(start)),
        );
        assert!(instance.unsaved() > 0, "{}: the host is told", start.name);
    }
}

#[test]
fn a_starting_point_of_the_other_mode_brings_its_latency() {
    let starts = bundle().starting_points().unwrap();
    let sweep = starts
        .iter()
        .find(|start| start.features == ["sweep"])
        .unwrap();
    let mut instance = open(Session::default());
    let align = instance.latency();
    instance.call_up(sweep).unwrap();
    block(&mut instance);
    instance.restart_if_requested().unwrap();
    assert!(
        instance.latency() > align + 500,
        "{align} {}",
        instance.latency()
    );
}

/// What a VST3 host reads out of a `.vstpreset`: the class, and a chunk by its name.
fn chunk<'a>(file: &'a [u8], name: &[u8; 4]) -> (&'a str, &'a [u8]) {
    let long = |at: usize| i64::from_le_bytes(file[at..at + 8].try_into().unwrap()) as usize;
    assert_eq!(&file[..4], b"VST3");
    let list = long(40);
    assert_eq!(&file[list..list + 4], b"List");
    let count = i32::from_le_bytes(file[list + 4..list + 8].try_into().unwrap()) as usize;
    let entries = (0..count).map(|entry| list + 8 + 20 * entry);
    let found = entries.into_iter().find(|at| &file[*at..*at + 4] == name);
    let at = found.expect("the chunk");
    let (start, length) = (long(at + 4), long(at + 12));
    let class = std::str::from_utf8(&file[8..40]).unwrap();
    (class, &file[start..start + length])
}

#[test]
fn vst3_loads_their_files_and_leaves_the_take_alone() {
    let files = bundle().vst3_presets().unwrap();
    let starts = bundle().starting_points().unwrap();
    assert_eq!(files.len(), starts.len());
    for (start, (name, file)) in starts.iter().zip(&files) {
        assert_eq!(&start.name, name);
        let plugin = Vst3::new();
        assert_eq!(plugin.load(session().to_string().as_bytes()), kResultOk);
        let before = json_of(&plugin.save());
        let (class, component) = chunk(file, b"Comp");
        assert_eq!(class, plugin.class, "{name}");
        assert_eq!(plugin.load(component), kResultOk);
        let after = json_of(&plugin.save());
        check(
            &format!("VST3, {name}"),
            start,
            (&before, &after, &fresh(start)),
        );
        // SAFETY: plain data.
        let mode = unsafe { plugin.controller.getParamNormalized(number("mode")) };
        assert_eq!(mode == 1.0, start.features == ["sweep"], "{name}");
        let info = String::from_utf8_lossy(chunk(file, b"Info").1);
        assert!(info.contains(name.as_str()), "{info}");
    }
}

#[test]
fn files_are_read_whole_or_not_at_all() {
    let folder = std::env::temp_dir().join(format!("plumbline-presets-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("mine.plumbline");
    let mut instance = open(Session::default());
    instance.load(&stored(&session())).unwrap();
    block(&mut instance);
    let before = json_of(&instance.save().unwrap()[8..]);
    for (text, why) in [
        (
            "Plumbline preset, format 1\nrange = 2\ncurve = Zigzag\n",
            "curve cannot be Zigzag",
        ),
        (
            "Plumbline preset, format 1\nrange = 200\n",
            "range cannot be 200",
        ),
        (
            "Plumbline preset, format 1\nrange = 2\nmeasure = Off\n",
            "belongs to the take",
        ),
        (
            "Plumbline preset, format 1\nwarp = 2\n",
            "no control called warp",
        ),
        ("Plumbline preset, format 9\n", "newer version"),
        ("once upon a time", "no preset"),
    ] {
        std::fs::write(&path, text).unwrap();
        let refused = instance.call_up_file(&path).unwrap_err().to_string();
        assert!(
            refused.contains(why) && refused.contains("mine.plumbline"),
            "{refused}"
        );
        assert_eq!(json_of(&instance.save().unwrap()[8..]), before, "{text}");
    }
    let refused = instance.call_up_file(&folder.join("nothing")).unwrap_err();
    assert!(refused.to_string().contains("nothing"), "{refused}");
    std::fs::write(
        &path,
        "Plumbline preset, format 1\nname: Mine\nrange = 2.5\ncurve = Reel\n",
    )
    .unwrap();
    instance.call_up_file(&path).unwrap();
    let after = json_of(&instance.save().unwrap()[8..]);
    let changed = changed(&before, &after);
    assert_eq!(changed.into_iter().collect::<Vec<_>>(), ["curve", "range"]);
    std::fs::remove_dir_all(&folder).unwrap();
}
