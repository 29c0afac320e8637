//! The measurement as the session's JSON keeps it: in seconds, one key a fact, readable by older and newer versions.

use super::saved_kit::read_kit;
use crate::exchange::{LOG_LENGTH, Report, Telemetry};
use plumbline_dsp::measurement::{
    Drum, DrumKind, Hit, HitOutcome, KINDS, Lag, MAX_DRUMS, Measurement, Polarity, Refused,
    Signature, Why,
};
use serde::de::DeserializeOwned;
use serde_json::{Map, Value, json};
use std::sync::atomic::Ordering::Relaxed;

/// Version of the saved measurement. A newer one is loaded as far as its keys are known; the rest is kept.
const VERSION: u64 = 2;

/// Nothing is known of a polarity.
const EVEN_ODDS: f64 = 0.5;

/// A lag beyond this cannot come from a drum kit: 1 s is 343 m of air. Such a value in a state is damage.
const LONGEST_LAG_S: f64 = 1.0;

/// Writes what is measured over what was there: keys of a newer version survive.
pub fn write_report(report: &Report, saved: &mut Map<String, Value>) {
    let Report {
        measurement, log, ..
    } = report;
    let version = saved.get("version").and_then(Value::as_u64).unwrap_or(0);
    let drums = measurement.drums().iter().map(write_drum);
    let refused = measurement.refused;
    saved.insert("version".into(), version.max(VERSION).into());
    saved.insert("hits".into(), measurement.hits.into());
    saved.insert(
        "refused".into(),
        json!({"clipped": refused.clipped, "buried": refused.buried}),
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
    // What version 1 told drums apart by.
    saved.remove("voices");
    saved.insert("drums".into(), drums.collect());
    saved.insert("chosen".into(), measurement.chosen.into());
    saved.insert("why".into(), measurement.why.word().into());
    saved.insert("spots_own".into(), measurement.spots_own.into());
    saved.insert("spot_heard".into(), measurement.spot_heard.into());
    saved.insert("log".into(), log.iter().flatten().map(write_hit).collect());
}

/// Writes what is being done about it.
pub fn write_telemetry(telemetry: &Telemetry, saved: &mut Map<String, Value>) {
    let applied = json!({
        "first_s": telemetry.first_s.load(Relaxed),
        "second_s": telemetry.second_s.load(Relaxed),
        "flip": telemetry.flip.load(Relaxed),
        "spot_s": telemetry.spot_s.load(Relaxed),
        "spot_flip": telemetry.spot_flip.load(Relaxed),
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
        "polarity_odds": lag.polarity_odds,
        "confidence": lag.confidence,
    })
}

fn write_drum(drum: &Drum) -> Value {
    json!({
        "number": drum.number,
        "kind": drum.kind.word(),
        "probabilities": drum.probabilities,
        "hits": drum.hits,
        "gap": write_lag(&drum.gap),
        "spot_to_first": write_lag(&drum.spot_to_first),
        "spot_to_second": write_lag(&drum.spot_to_second),
        "share": drum.share,
        "signature": drum.signature.levels_db,
    })
}

fn write_hit(hit: &Hit) -> Value {
    let outcome = match hit.outcome {
        HitOutcome::Counted { drum, gap_s } => {
            let at_s = hit.at_s;
            return json!({"at_s": at_s, "outcome": "counted", "drum": drum, "gap_s": gap_s});
        }
        HitOutcome::Clipped => "clipped",
        HitOutcome::Buried => "buried",
    };
    json!({"at_s": hit.at_s, "outcome": outcome})
}

/// Reads what can be read; what is damaged or unknown is left out.
pub fn read_report(saved: &Map<String, Value>, epoch: u32) -> Report {
    let refused = saved.get("refused").cloned().unwrap_or_default();
    let mut measurement = Measurement {
        hits: key(saved, "hits").unwrap_or_default(),
        refused: Refused {
            clipped: part(&refused, "clipped").unwrap_or_default(),
            buried: part(&refused, "buried").unwrap_or_default(),
        },
        gap: saved.get("gap").and_then(read_lag),
        spot_to_first: saved.get("spot_to_first").and_then(read_lag),
        spot_to_second: saved.get("spot_to_second").and_then(read_lag),
        ..Measurement::default()
    };
    read_drums(saved, &mut measurement);
    let mut report = Report {
        measurement,
        epoch,
        ..Report::default()
    };
    let hits = list(saved, "log").filter_map(read_hit);
    for (entry, hit) in report.log.iter_mut().zip(hits.take(LOG_LENGTH)) {
        *entry = Some(hit);
    }
    read_kit(saved, &mut report);
    report
}

fn read_drums(saved: &Map<String, Value>, measurement: &mut Measurement) {
    let drums = list(saved, "drums").filter_map(read_drum);
    for (entry, drum) in measurement.drums.iter_mut().zip(drums.take(MAX_DRUMS)) {
        *entry = drum;
        measurement.drum_count += 1;
    }
    let place = |name| key(saved, name).filter(|place| *place < measurement.drum_count);
    measurement.chosen = place("chosen");
    measurement.spots_own = place("spots_own");
    measurement.spot_heard = key(saved, "spot_heard").unwrap_or_default();
    measurement.why = read_why(saved);
    if measurement.drum_count == 0 {
        read_voices(saved, measurement);
    }
}

fn read_drum(saved: &Value) -> Option<Drum> {
    Some(Drum {
        number: part(saved, "number")?,
        kind: read_kind(saved),
        probabilities: part(saved, "probabilities").unwrap_or_default(),
        hits: part(saved, "hits")?,
        gap: saved.get("gap").and_then(read_lag),
        spot_to_first: saved.get("spot_to_first").and_then(read_lag),
        spot_to_second: saved.get("spot_to_second").and_then(read_lag),
        share: part(saved, "share").unwrap_or_default(),
        signature: Signature {
            levels_db: part(saved, "signature").unwrap_or_default(),
        },
    })
}

/// The drums of version 1: the first was the spot's own and had the measurement's lags, the others had a gap alone.
fn read_voices(saved: &Map<String, Value>, measurement: &mut Measurement) {
    let voices = list(saved, "voices").filter_map(read_voice).take(MAX_DRUMS);
    for (number, (entry, drum)) in measurement.drums.iter_mut().zip(voices).enumerate() {
        *entry = Drum {
            number: number as u8,
            ..drum
        };
        measurement.drum_count += 1;
    }
    if measurement.drum_count > 0 {
        let own = &mut measurement.drums[0];
        own.gap = measurement.gap;
        own.spot_to_first = measurement.spot_to_first;
        own.spot_to_second = measurement.spot_to_second;
        measurement.chosen = Some(0);
        measurement.spot_heard = own.spot_to_first.is_some();
        measurement.spots_own = own.spot_to_first.map(|_| 0);
        measurement.why = match measurement.spots_own {
            Some(_) => Why::SpotsOwn,
            None => Why::MostHits,
        };
    }
}

fn read_voice(saved: &Value) -> Option<Drum> {
    let attack_s = lag_seconds(saved, "gap_s")?;
    let kind = match saved.get("name").and_then(Value::as_str) {
        Some("high") => DrumKind::Cymbal,
        _ => DrumKind::Other,
    };
    Some(Drum {
        kind,
        hits: part(saved, "hits")?,
        gap: Some(Lag {
            attack_s,
            body_s: attack_s,
            spread_s: lag_seconds(saved, "spread_s").unwrap_or_default(),
            polarity_odds: EVEN_ODDS,
            ..Lag::default()
        }),
        ..Drum::default()
    })
}

fn read_lag(saved: &Value) -> Option<Lag> {
    let odds = part::<f64>(saved, "polarity_odds").unwrap_or(EVEN_ODDS);
    Some(Lag {
        attack_s: lag_seconds(saved, "attack_s")?,
        body_s: lag_seconds(saved, "body_s")?,
        spread_s: lag_seconds(saved, "spread_s").unwrap_or_default(),
        polarity: read_polarity(saved),
        polarity_odds: odds.clamp(EVEN_ODDS, 1.0),
        confidence: part::<f64>(saved, "confidence")
            .unwrap_or_default()
            .clamp(0.0, 1.0),
    })
}

fn read_hit(saved: &Value) -> Option<Hit> {
    let outcome = match saved.get("outcome")?.as_str()? {
        "counted" => HitOutcome::Counted {
            drum: part(saved, "drum").or_else(|| part(saved, "voice"))?,
            // Version 1 wrote exactly zero for a covered front.
            gap_s: lag_seconds(saved, "gap_s").filter(|gap_s| *gap_s != 0.0),
        },
        "clipped" => HitOutcome::Clipped,
        "buried" => HitOutcome::Buried,
        _ => return None,
    };
    let at_s = part(saved, "at_s")?;
    Some(Hit { at_s, outcome })
}

fn read_kind(saved: &Value) -> DrumKind {
    let word = saved.get("kind").and_then(Value::as_str);
    let kind = KINDS.into_iter().find(|kind| Some(kind.word()) == word);
    kind.unwrap_or_default()
}

fn read_why(saved: &Map<String, Value>) -> Why {
    let reasons = [
        Why::Asked,
        Why::AskedNotHeard,
        Why::SpotsOwn,
        Why::ChannelsOwn,
        Why::Snare,
        Why::MostHits,
    ];
    let word = saved.get("why").and_then(Value::as_str);
    let why = reasons.into_iter().find(|why| Some(why.word()) == word);
    why.unwrap_or_default()
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
