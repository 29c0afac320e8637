//! The measurement as the session's JSON keeps it: in seconds, one key a fact, readable by older and newer versions.

use crate::exchange::{LOG_LENGTH, Report, Telemetry};
use plumbline_dsp::measurement::{
    Hit, HitOutcome, Lag, MAX_VOICES, Measurement, Polarity, Refused, Voice, VoiceName,
};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};
use std::sync::atomic::Ordering::Relaxed;

/// Version of the saved measurement. A newer one is loaded as far as its keys are known; the rest is kept.
const VERSION: u64 = 1;

/// A lag beyond this cannot come from a drum kit: 1 s is 343 m of air. Such a value in a state is damage.
const LONGEST_LAG_S: f64 = 1.0;

/// Writes what is measured over what was there: keys of a newer version survive.
pub fn write_report(report: &Report, saved: &mut Map<String, Value>) {
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

/// Writes what is being done about it.
pub fn write_telemetry(telemetry: &Telemetry, saved: &mut Map<String, Value>) {
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

/// Reads what can be read; what is damaged or unknown is left out.
pub fn read_report(saved: &Map<String, Value>, epoch: u32) -> Report {
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
    for (entry, voice) in measurement.voices.iter_mut().zip(voices.take(MAX_VOICES)) {
        *entry = voice;
        measurement.voice_count += 1;
    }
    let mut report = Report {
        measurement,
        epoch,
        ..Report::default()
    };
    let hits = list(saved, "log").filter_map(read_hit);
    for (entry, hit) in report.log.iter_mut().zip(hits.take(LOG_LENGTH)) {
        *entry = Some(hit);
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
