//! What is saved is what is loaded, whatever else the state holds.

use super::*;
use crate::exchange::triple_buffer;
use plumbline_dsp::measure::drum_sum::DrumSum;
use plumbline_dsp::measurement::{Drum, DrumKind, Hit, HitOutcome, KitAim, KitMatch, Lag, Why};
use serde_json::json;

fn store() -> (
    MeasurementStore,
    TripleBufferWriter<Report>,
    TripleBufferReader<Report>,
) {
    let (reports_in, reports) = triple_buffer();
    let (loads, loads_out) = triple_buffer();
    let (picks, _) = triple_buffer();
    let (_, pairs) = triple_buffer();
    let store = MeasurementStore::new(reports, pairs, loads, picks, Arc::default());
    (store, reports_in, loads_out)
}

fn measured(epoch: u32) -> Report {
    let lag = Lag {
        attack_s: 1.25e-4,
        body_s: 1.5e-4,
        spread_s: 2e-6,
        polarity: Polarity::Inverted,
        polarity_odds: 0.875,
        confidence: 0.75,
    };
    let mut report = Report {
        epoch,
        ..Report::default()
    };
    report.measurement.hits = 7;
    report.measurement.gap = Some(lag);
    report.measurement.drums[0] = Drum {
        number: 3,
        kind: DrumKind::Snare,
        probabilities: [0.75, 0.125, 0.125, 0.0],
        hits: 7,
        gap: Some(lag),
        share: 0.5,
        signature: Signature {
            levels_db: [-1.5; 10],
        },
        ..Drum::default()
    };
    report.measurement.drum_count = 1;
    report.measurement.chosen = Some(0);
    report.measurement.why = Why::Snare;
    report.measurement.kit = Some(KitMatch {
        upright: KitAim {
            gap_s: 1.5e-4,
            loss_db: -1.25,
        },
        ..KitMatch::default()
    });
    let shared = std::array::from_fn(|point| point as f32 * 1e-3);
    report.sums[0] = Some(DrumSum {
        first_part: 0.5,
        shared,
    });
    report.log[0] = Some(Hit {
        at_s: 0.5,
        outcome: HitOutcome::Clipped,
    });
    report.log[1] = Some(Hit {
        at_s: 1.0,
        outcome: HitOutcome::Counted {
            drum: 3,
            gap_s: None,
        },
    });
    report
}

#[test]
fn what_is_saved_is_what_is_loaded() {
    let (from, mut analysis, _) = store();
    analysis.write(measured(0));
    let saved = from.map(Value::clone);
    let (to, _, mut audio) = store();
    to.set(saved);
    let loaded = audio.take().unwrap();
    assert_eq!(loaded.measurement, measured(0).measurement);
    assert_eq!(loaded.log, measured(0).log);
    let [before, after] = [&measured(0), loaded].map(|report| report.sums[0].unwrap());
    assert_eq!(before.first_part, after.first_part);
    let apart = before.shared.iter().zip(after.shared);
    let apart = apart.map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
    assert!(apart < 1e-4, "{apart}");
    assert_eq!(to.report().measurement, measured(0).measurement);
}

#[test]
fn a_picked_drum_is_kept_with_the_session() {
    let (from, ..) = store();
    assert_eq!(from.map(Value::clone)["picked_drum"], Value::Null);
    let levels_db = std::array::from_fn(|band| band as f32 - 4.5);
    from.pick(Signature { levels_db });
    let (to, ..) = store();
    to.set(from.map(Value::clone));
    assert_eq!(to.lock().picked, Pick::Drum(Signature { levels_db }));
}

#[test]
fn a_drum_that_was_played_is_kept_after_its_last_stroke() {
    let (store, mut analysis, _) = store();
    assert_eq!(store.playing(), None);
    store.pick_by_playing();
    let playing = |left| PickedByPlaying { request: 1, left };
    assert_eq!(store.playing(), Some(playing(4)));
    for left in [3, 1] {
        analysis.write(Report {
            playing: Some(playing(left)),
            ..measured(0)
        });
        assert_eq!(store.playing(), Some(playing(left)));
    }
    analysis.write(Report {
        playing: Some(playing(0)),
        ..measured(0)
    });
    assert_eq!(store.playing(), None);
    let signature = measured(0).measurement.drums[0].signature;
    assert_eq!(store.lock().picked, Pick::Drum(signature));
}

#[test]
fn keys_of_a_newer_version_are_kept() {
    let (store, ..) = store();
    store.set(json!({"version": 9, "hits": 3, "gap": {"shape": "new"}, "room": {"depth_m": 4.5}}));
    let saved = store.map(Value::clone);
    assert_eq!(saved["version"], 9);
    assert_eq!(saved["hits"], 3);
    assert_eq!(saved["gap"], Value::Null);
    assert_eq!(saved["room"]["depth_m"], 4.5);
}

#[test]
fn the_former_versions_drums_are_read() {
    let (store, ..) = store();
    let lag = json!({"attack_s": 1e-4, "body_s": 1e-4, "spread_s": 1e-6, "polarity": "same", "confidence": 0.8});
    let voice = |name, gap_s| json!({"name": name, "hits": 5, "gap_s": gap_s, "spread_s": 1e-6});
    store.set(json!({"version": 1, "hits": 5, "gap": lag, "spot_to_first": lag,
        "voices": [voice("spot", 1e-4), voice("high", -2e-4)],
        "log": [{"at_s": 1.0, "outcome": "counted", "voice": 1, "gap_s": 0.0, "spot_to_first_s": 0.0}]}));
    let report = store.report();
    let measurement = report.measurement;
    let kinds: Vec<DrumKind> = measurement.drums().iter().map(|drum| drum.kind).collect();
    assert_eq!(kinds, [DrumKind::Other, DrumKind::Cymbal]);
    assert_eq!(measurement.drums[1].gap.unwrap().attack_s, -2e-4);
    assert_eq!(measurement.chosen().unwrap().gap, measurement.gap);
    assert_eq!(measurement.why, Why::SpotsOwn);
    let covered = HitOutcome::Counted {
        drum: 1,
        gap_s: None,
    };
    assert_eq!(report.log[0].unwrap().outcome, covered);
    let saved = store.map(Value::clone);
    assert_eq!(saved["voices"], Value::Null);
}

#[test]
fn damage_is_left_out_and_the_rest_is_read() {
    let (store, ..) = store();
    store.set(json!({"hits": "many", "gap": {"attack_s": 1e30, "body_s": 0.0}, "voices": 4, "log": [7, {}],
        "spot_to_first": {"attack_s": 0.002, "body_s": 0.002}}));
    let measurement = store.report().measurement;
    assert_eq!(measurement.hits, 0);
    assert_eq!(measurement.gap, None);
    assert_eq!(measurement.spot_to_first.unwrap().attack_s, 0.002);
}

#[test]
fn a_report_from_before_the_load_does_not_undo_it() {
    let (store, mut analysis, _) = store();
    store.set(json!({"hits": 3}));
    analysis.write(measured(0));
    assert_eq!(store.report().measurement.hits, 3);
    analysis.write(measured(1));
    assert_eq!(store.report().measurement.hits, 7);
}
