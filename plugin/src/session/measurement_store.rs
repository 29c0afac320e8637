//! Keeps the measurement for the host, which saves and loads it, and passes it on to the audio thread.

use super::picked_drum::{read_picked, write_picked};
use super::saved_drawing::{read_drawing, write_drawing};
use super::saved_kit::{AppliedGap, write_kit};
use super::saved_measurement::{read_report, write_report, write_telemetry};
use super::take_notes::{TakeNotes, read_notes, write_notes};
use crate::exchange::{
    PairSnapshot, Pick, Report, Telemetry, TripleBufferReader, TripleBufferWriter,
};
use atomic_float::AtomicF32;
use nice_plug::params::persist::PersistentField;
use plumbline_dsp::measurement::{Polarity, Signature};
use serde_json::{Map, Value};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Keeps the last report for the host.
///
/// Its lock is only taken by the threads that save and load; the analysis and the audio reach it through triple buffers.
pub struct MeasurementStore {
    inner: Mutex<Inner>,
    telemetry: Arc<Telemetry>,
    /// Degrees Celsius. Writer: the parameter, whenever it is set.
    temperature_c: Arc<AtomicF32>,
}

struct Inner {
    /// The newest report that this side knows.
    report: Report,
    /// As loaded, so that keys of a newer version survive.
    loaded: Map<String, Value>,
    reports: TripleBufferReader<Report>,
    /// What is drawn of the hits: the newest that this side knows.
    pair: PairSnapshot,
    pairs: TripleBufferReader<PairSnapshot>,
    loads: TripleBufferWriter<Report>,
    /// The drum that was picked by hand.
    picked: Pick,
    /// Requests for the next four strokes so far.
    requests: u32,
    picks: TripleBufferWriter<Pick>,
    /// Shared with the frames of an open window.
    notes: Arc<TakeNotes>,
}

impl MeasurementStore {
    /// `reports` and `pairs` come from the analysis, `loads` and `picks` go to the audio thread.
    pub fn new(
        reports: TripleBufferReader<Report>,
        pairs: TripleBufferReader<PairSnapshot>,
        loads: TripleBufferWriter<Report>,
        picks: TripleBufferWriter<Pick>,
        telemetry: Arc<Telemetry>,
    ) -> Self {
        let inner = Inner {
            report: Report::default(),
            loaded: Map::new(),
            reports,
            pair: PairSnapshot::default(),
            pairs,
            loads,
            picked: Pick::Nothing,
            requests: 0,
            picks,
            notes: Arc::default(),
        };
        Self {
            inner: Mutex::new(inner),
            telemetry,
            temperature_c: Arc::default(),
        }
    }

    /// Where the temperature of the air is noted, °C.
    pub fn temperature_c(&self) -> Arc<AtomicF32> {
        Arc::clone(&self.temperature_c)
    }

    /// The newest measurement and its log. Waits for whoever saves or loads, never for the audio.
    #[cfg(any(test, feature = "editor"))]
    pub fn report(&self) -> Report {
        self.lock().refreshed()
    }

    /// What is drawn of the hits.
    #[cfg(any(test, feature = "editor"))]
    pub fn pair(&self) -> PairSnapshot {
        let mut inner = self.lock();
        inner.refresh_pair();
        inner.pair
    }

    /// Keeps what a drum sounds like that was picked by hand.
    #[cfg(any(test, feature = "editor"))]
    pub fn pick(&self, signature: Signature) {
        self.lock().pick(Pick::Drum(signature));
    }

    /// Asks for the next four strokes: their drum is the picked one.
    #[cfg(any(test, feature = "editor"))]
    pub fn pick_by_playing(&self) {
        let mut inner = self.lock();
        inner.requests += 1;
        let request = inner.requests;
        inner.pick(Pick::NextHits(request));
    }

    /// What the engineer has noted.
    #[cfg(any(test, feature = "editor"))]
    pub fn notes(&self) -> Arc<TakeNotes> {
        Arc::clone(&self.lock().notes)
    }

    /// Changes what the engineer has noted.
    #[cfg(any(test, feature = "editor"))]
    pub fn change_notes(&self, change: impl FnOnce(&mut TakeNotes)) {
        change(Arc::make_mut(&mut self.lock().notes));
    }

    fn applied_gap(&self) -> AppliedGap {
        let telemetry = &self.telemetry;
        AppliedGap {
            gap_s: telemetry.first_s.load(Relaxed) - telemetry.second_s.load(Relaxed),
            second: match telemetry.flip.load(Relaxed) {
                true => Polarity::Inverted,
                false => Polarity::Same,
            },
        }
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inner {
    /// Takes the analysis' newest report over, unless the host has loaded something since.
    fn refreshed(&mut self) -> Report {
        if let Some(report) = self.reports.take()
            && report.epoch == self.report.epoch
        {
            self.report = *report;
            self.keep_played();
        }
        self.report
    }

    /// Takes the newest drawing over; an empty one that belongs to the same measurement says only who is audible.
    fn refresh_pair(&mut self) {
        let Some(pair) = self.pairs.take().copied() else {
            return;
        };
        let same = pair.epoch == self.pair.epoch;
        self.pair = match pair.spectrum.hits() == 0 && same {
            true => PairSnapshot {
                audible: pair.audible,
                ..self.pair
            },
            false => pair,
        };
    }

    /// Once four strokes have been played, their drum is kept by what it sounds like.
    fn keep_played(&mut self) {
        let played = self.report.playing.filter(|playing| playing.left == 0);
        let chosen = self.report.measurement.chosen().copied();
        if let (Some(played), Some(chosen)) = (played, chosen)
            && self.picked == Pick::NextHits(played.request)
        {
            self.pick(Pick::Drum(chosen.signature));
        }
    }

    fn load(&mut self, saved: Map<String, Value>) {
        let epoch = self.report.epoch.wrapping_add(1);
        self.report = read_report(&saved, epoch);
        self.pick(read_picked(&saved).map_or(Pick::Nothing, Pick::Drum));
        self.notes = Arc::new(read_notes(&saved));
        self.pair = read_drawing(&saved, epoch);
        self.loaded = saved;
        self.loads.write(self.report);
    }

    fn pick(&mut self, picked: Pick) {
        self.picked = picked;
        self.picks.write(picked);
    }
}

impl<'a> PersistentField<'a, Value> for MeasurementStore {
    fn set(&self, saved: Value) {
        if let Value::Object(saved) = saved {
            self.lock().load(saved);
        }
    }

    fn map<F: Fn(&Value) -> R, R>(&self, read: F) -> R {
        let mut inner = self.lock();
        let report = inner.refreshed();
        let mut saved = inner.loaded.clone();
        if let Pick::Drum(signature) = inner.picked {
            write_picked(signature, &mut saved);
        }
        write_notes(&inner.notes, &mut saved);
        inner.refresh_pair();
        if inner.pair.epoch == report.epoch {
            write_drawing(&inner.pair, &mut saved);
        }
        drop(inner);
        write_report(&report, &mut saved);
        write_kit(&report, self.applied_gap(), &mut saved);
        write_telemetry(&self.telemetry, &mut saved);
        let temperature_c = self.temperature_c.load(Relaxed);
        saved.insert("temperature_c".into(), temperature_c.into());
        read(&Value::Object(saved))
    }
}

#[cfg(test)]
mod tests {
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
    fn keys_of_a_newer_version_are_kept() {
        let (store, ..) = store();
        store.set(
            json!({"version": 9, "hits": 3, "gap": {"shape": "new"}, "room": {"depth_m": 4.5}}),
        );
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
        let voice =
            |name, gap_s| json!({"name": name, "hits": 5, "gap_s": gap_s, "spread_s": 1e-6});
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
}
