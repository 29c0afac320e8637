//! The measurement as it is kept with the session: in seconds, one key a fact, readable by older and newer versions.

use crate::telemetry::{LOG_LENGTH, Report, SlotReader, SlotWriter, Telemetry};
use atomic_float::AtomicF32;
use nice_plug::params::persist::PersistentField;
use plumbline_dsp::measurement::{
    Hit, HitOutcome, Lag, MAX_VOICES, Measurement, Polarity, Refused, Voice, VoiceName,
};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Version of the saved measurement. A newer one is loaded as far as its keys are known; the rest is kept.
const VERSION: u64 = 1;

/// A lag beyond this cannot come from a drum kit: 1 s is 343 m of air. Such a value in a state is damage.
const LONGEST_LAG_S: f64 = 1.0;

/// The measurement between the host, which saves and loads it, and the audio.
///
/// Its lock is only taken by the threads that save and load; the analysis and the audio reach it through slots.
pub struct MeasurementStore {
    inner: Mutex<Inner>,
    telemetry: Arc<Telemetry>,
    /// Degrees Celsius. Writer: the parameter, whenever it is set.
    temperature_c: Arc<AtomicF32>,
}

struct Inner {
    /// The last state of things that this side knows.
    report: Report,
    /// As loaded, so that keys of a newer version survive.
    loaded: Map<String, Value>,
    reports: SlotReader<Report>,
    loads: SlotWriter<Report>,
}

impl MeasurementStore {
    /// `reports` come from the analysis, `loads` go to the audio thread.
    pub fn new(
        reports: SlotReader<Report>,
        loads: SlotWriter<Report>,
        telemetry: Arc<Telemetry>,
    ) -> Self {
        let inner = Inner {
            report: Report::default(),
            loaded: Map::new(),
            reports,
            loads,
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

    /// The newest measurement and its log.
    #[cfg(test)]
    fn report(&self) -> Report {
        self.lock().refreshed()
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
        }
        self.report
    }

    fn load(&mut self, saved: Map<String, Value>) {
        let epoch = self.report.epoch.wrapping_add(1);
        self.report = read_report(&saved, epoch);
        self.loaded = saved;
        self.loads.write(self.report);
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
        drop(inner);
        write_report(&report, &mut saved);
        write_telemetry(&self.telemetry, &mut saved);
        let temperature_c = self.temperature_c.load(Relaxed);
        saved.insert("temperature_c".into(), temperature_c.into());
        read(&Value::Object(saved))
    }
}

fn write_report(report: &Report, saved: &mut Map<String, Value>) {
    let Report {
        measurement, log, ..
    } = report;
    let version = saved.get("version").and_then(Value::as_u64).unwrap_or(0);
    let voices = measurement.voices().iter().map(write_voice);
    let refused = measurement.refused;
    saved.insert("version".into(), version.max(VERSION).into());
    saved.insert("hits".into(), measurement.hits.into());
    saved.insert(
        "refused".into(),
        json!({"clipped": refused.clipped, "crowded": refused.crowded, "buried": refused.buried}),
    );
    saved.insert("gap".into(), write_lag(&measurement.gap));
    saved.insert(
        "spot_to_first".into(),
        write_lag(&measurement.spot_to_first),
    );
    saved.insert(
        "spot_to_second".into(),
        write_lag(&measurement.spot_to_second),
    );
    saved.insert("voices".into(), voices.collect());
    saved.insert("log".into(), log.iter().flatten().map(write_hit).collect());
}

fn write_telemetry(telemetry: &Telemetry, saved: &mut Map<String, Value>) {
    let applied = json!({
        "first_s": telemetry.first_s.load(Relaxed),
        "second_s": telemetry.second_s.load(Relaxed),
        "flip": telemetry.flip.load(Relaxed),
    });
    saved.insert("applied".into(), applied);
    let missing_s = telemetry.missing_reach_s.load(Relaxed);
    saved.insert("missing_reach_s".into(), missing_s.into());
    let dropped = telemetry.dropped_frames.load(Relaxed);
    saved.insert("dropped_frames".into(), dropped.into());
}

fn write_lag(lag: &Option<Lag>) -> Value {
    let Some(lag) = lag else { return Value::Null };
    json!({
        "attack_s": lag.attack_s,
        "body_s": lag.body_s,
        "spread_s": lag.spread_s,
        "polarity": polarity_word(lag.polarity),
        "confidence": lag.confidence,
    })
}

fn write_voice(voice: &Voice) -> Value {
    json!({
        "name": voice_word(voice.name),
        "hits": voice.hits,
        "gap_s": voice.gap_s,
        "spread_s": voice.spread_s,
    })
}

fn write_hit(hit: &Hit) -> Value {
    match hit.outcome {
        HitOutcome::Counted {
            voice,
            gap_s,
            spot_to_first_s,
        } => json!({
            "at_s": hit.at_s,
            "outcome": "counted",
            "voice": voice,
            "gap_s": gap_s,
            "spot_to_first_s": spot_to_first_s,
        }),
        HitOutcome::Clipped => json!({"at_s": hit.at_s, "outcome": "clipped"}),
        HitOutcome::Crowded => json!({"at_s": hit.at_s, "outcome": "crowded"}),
        HitOutcome::Buried => json!({"at_s": hit.at_s, "outcome": "buried"}),
    }
}

fn read_report(saved: &Map<String, Value>, epoch: u32) -> Report {
    let refused = saved.get("refused").cloned().unwrap_or_default();
    let mut measurement = Measurement {
        hits: key(saved, "hits").unwrap_or_default(),
        refused: Refused {
            clipped: part(&refused, "clipped").unwrap_or_default(),
            crowded: part(&refused, "crowded").unwrap_or_default(),
            buried: part(&refused, "buried").unwrap_or_default(),
        },
        gap: saved.get("gap").and_then(read_lag),
        spot_to_first: saved.get("spot_to_first").and_then(read_lag),
        spot_to_second: saved.get("spot_to_second").and_then(read_lag),
        ..Measurement::default()
    };
    let voices = list(saved, "voices").filter_map(read_voice);
    for (place, voice) in measurement.voices.iter_mut().zip(voices.take(MAX_VOICES)) {
        *place = voice;
        measurement.voice_count += 1;
    }
    let mut report = Report {
        measurement,
        epoch,
        ..Report::default()
    };
    let hits = list(saved, "log").filter_map(read_hit);
    for (place, hit) in report.log.iter_mut().zip(hits.take(LOG_LENGTH)) {
        *place = Some(hit);
    }
    report
}

fn read_lag(saved: &Value) -> Option<Lag> {
    Some(Lag {
        attack_s: lag_seconds(saved, "attack_s")?,
        body_s: lag_seconds(saved, "body_s")?,
        spread_s: lag_seconds(saved, "spread_s").unwrap_or_default(),
        polarity: read_polarity(saved),
        confidence: part::<f64>(saved, "confidence")
            .unwrap_or_default()
            .clamp(0.0, 1.0),
    })
}

fn read_voice(saved: &Value) -> Option<Voice> {
    Some(Voice {
        name: read_voice_name(saved),
        hits: part(saved, "hits")?,
        gap_s: lag_seconds(saved, "gap_s")?,
        spread_s: lag_seconds(saved, "spread_s").unwrap_or_default(),
    })
}

fn read_hit(saved: &Value) -> Option<Hit> {
    let outcome = match saved.get("outcome")?.as_str()? {
        "counted" => HitOutcome::Counted {
            voice: part(saved, "voice")?,
            gap_s: lag_seconds(saved, "gap_s")?,
            spot_to_first_s: lag_seconds(saved, "spot_to_first_s")?,
        },
        "clipped" => HitOutcome::Clipped,
        "crowded" => HitOutcome::Crowded,
        "buried" => HitOutcome::Buried,
        _ => return None,
    };
    let at_s = part(saved, "at_s")?;
    Some(Hit { at_s, outcome })
}

fn polarity_word(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "inverted",
        Polarity::Undecided => "undecided",
    }
}

fn read_polarity(saved: &Value) -> Polarity {
    match saved.get("polarity").and_then(Value::as_str) {
        Some("same") => Polarity::Same,
        Some("inverted") => Polarity::Inverted,
        _ => Polarity::Undecided,
    }
}

fn voice_word(name: VoiceName) -> &'static str {
    match name {
        VoiceName::Spot => "spot",
        VoiceName::Low => "low",
        VoiceName::Middle => "middle",
        VoiceName::High => "high",
    }
}

fn read_voice_name(saved: &Value) -> VoiceName {
    match saved.get("name").and_then(Value::as_str) {
        Some("low") => VoiceName::Low,
        Some("high") => VoiceName::High,
        Some("spot") => VoiceName::Spot,
        _ => VoiceName::Middle,
    }
}

fn lag_seconds(saved: &Value, name: &str) -> Option<f64> {
    part::<f64>(saved, name).filter(|lag| lag.abs() <= LONGEST_LAG_S)
}

fn part<T: DeserializeOwned>(saved: &Value, name: &str) -> Option<T> {
    T::deserialize(saved.get(name)?).ok()
}

fn key<T: DeserializeOwned>(saved: &Map<String, Value>, name: &str) -> Option<T> {
    T::deserialize(saved.get(name)?).ok()
}

fn list<'a>(saved: &'a Map<String, Value>, name: &str) -> impl Iterator<Item = &'a Value> {
    saved
        .get(name)
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::telemetry::slot;

    fn store() -> (MeasurementStore, SlotWriter<Report>, SlotReader<Report>) {
        let (reports_in, reports) = slot();
        let (loads, loads_out) = slot();
        let store = MeasurementStore::new(reports, loads, Arc::default());
        (store, reports_in, loads_out)
    }

    fn measured(epoch: u32) -> Report {
        let lag = Lag {
            attack_s: 1.25e-4,
            body_s: 1.5e-4,
            spread_s: 2e-6,
            polarity: Polarity::Inverted,
            confidence: 0.75,
        };
        let mut report = Report {
            epoch,
            ..Report::default()
        };
        report.measurement.hits = 7;
        report.measurement.gap = Some(lag);
        report.measurement.voices[0].hits = 7;
        report.measurement.voice_count = 1;
        report.log[0] = Some(Hit {
            at_s: 0.5,
            outcome: HitOutcome::Clipped,
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
        assert_eq!(loaded.log[0], measured(0).log[0]);
        assert_eq!(to.report().measurement, measured(0).measurement);
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
