//! The kit as the session's JSON keeps it: what the mono sum of each drum loses, and the compromise for all.

use crate::exchange::Report;
use plumbline_dsp::measure::drum_sum::{DrumSum, POINTS};
use plumbline_dsp::measurement::{KitAim, KitMatch, Polarity};
use serde::Deserialize;
use serde_json::{Map, Value, json};

/// A correlation is written in whole parts of this: an error of -80 dB.
const PARTS: f32 = 10_000.0;
/// Farther apart no kit is matched, s.
const LONGEST_S: f64 = 0.1;

/// What is done to the second channel against the first.
#[derive(Clone, Copy, Debug)]
pub struct AppliedGap {
    /// By how much the second is taken earlier, seconds.
    pub gap_s: f64,
    /// `Inverted`: its polarity is reversed.
    pub second: Polarity,
}

/// Writes the compromise, and into each drum what its mono sum loses as recorded and as corrected.
pub fn write_kit(report: &Report, applied: AppliedGap, saved: &mut Map<String, Value>) {
    let kit = report.measurement.kit;
    saved.insert(
        "kit".into(),
        kit.map_or(Value::Null, |kit| write_match(&kit)),
    );
    let drums = saved.get_mut("drums").and_then(Value::as_array_mut);
    let sums = report.sums.iter();
    for (drum, sum) in drums.into_iter().flatten().zip(sums) {
        let (Value::Object(drum), Some(sum)) = (drum, sum) else {
            continue;
        };
        drum.insert("mono_sum".into(), write_sum(sum));
        let recorded = sum.loss_db(0.0, Polarity::Same);
        drum.insert("mono_loss_recorded_db".into(), recorded.into());
        let corrected = sum.loss_db(applied.gap_s, applied.second);
        drum.insert("mono_loss_db".into(), corrected.into());
    }
}

/// Reads what can be read.
pub fn read_kit(saved: &Map<String, Value>, report: &mut Report) {
    report.measurement.kit = saved.get("kit").and_then(read_match);
    let drums = saved.get("drums").and_then(Value::as_array);
    for (drum, sum) in drums.into_iter().flatten().zip(&mut report.sums) {
        *sum = drum.get("mono_sum").and_then(read_sum);
    }
}

fn write_match(kit: &KitMatch) -> Value {
    let aim = |aim: KitAim| json!({"gap_s": aim.gap_s, "loss_db": aim.loss_db});
    json!({"upright": aim(kit.upright), "turned": aim(kit.turned), "recorded_db": kit.recorded_db})
}

fn read_match(saved: &Value) -> Option<KitMatch> {
    let aim = |name| {
        let aim = saved.get(name)?;
        let gap_s = aim.get("gap_s")?.as_f64()?;
        (gap_s.abs() <= LONGEST_S).then_some(KitAim {
            gap_s,
            loss_db: aim.get("loss_db")?.as_f64()?,
        })
    };
    Some(KitMatch {
        upright: aim("upright")?,
        turned: aim("turned")?,
        recorded_db: saved.get("recorded_db")?.as_f64()?,
    })
}

fn write_sum(sum: &DrumSum) -> Value {
    let parts = sum
        .shared
        .iter()
        .map(|shared| (shared * PARTS).round() as i32);
    json!({"first_part": sum.first_part, "shared": parts.collect::<Vec<i32>>()})
}

fn read_sum(saved: &Value) -> Option<DrumSum> {
    let parts = Vec::<i32>::deserialize(saved.get("shared")?).ok()?;
    let parts = <[i32; POINTS]>::try_from(parts).ok()?;
    let first_part = f32::deserialize(saved.get("first_part")?).ok()?;
    (0.0..=1.0).contains(&first_part).then_some(DrumSum {
        first_part,
        shared: parts.map(|part| (part as f32 / PARTS).clamp(-1.0, 1.0)),
    })
}
