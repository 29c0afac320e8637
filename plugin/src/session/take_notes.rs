//! What the engineer notes of a take: names of microphones and drums, the gaps to come back to, and free lines.

use plumbline_dsp::measurement::{Drum, Measurement, Signature};
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Where they stand among what is saved.
const KEY: &str = "notes";
/// A drum is the same one within this: levels of a drum differ by 2 to 3 dB from take to take, drums by 8 and more.
const SAME_DRUM_DB: f32 = 6.0;
/// Longest name, letters.
const LONGEST_NAME: usize = 16;
/// Longest line, letters.
const LONGEST_LINE: usize = 400;

/// One of the main channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overhead {
    First,
    Second,
}

/// A free line of the recall sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Line {
    Microphones,
    Heights,
    Remarks,
}

/// A drum's own name, and what the drum sounds like.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct NamedDrum {
    name: String,
    signature: [f32; 10],
}

/// The gap that one drum is to have again.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
struct TargetGap {
    gap_s: f64,
    signature: [f32; 10],
}

/// What the engineer notes of a take.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct TakeNotes {
    /// Own name of the first overhead; empty: none.
    pub first: String,
    /// Own name of the second overhead.
    pub second: String,
    /// Which microphones.
    pub microphones: String,
    /// How high they stand.
    pub heights: String,
    /// Anything else.
    pub remarks: String,
    drums: Vec<NamedDrum>,
    target: Vec<TargetGap>,
}

impl TakeNotes {
    /// The own name of a drum.
    pub fn drum_name(&self, drum: &Drum) -> Option<&str> {
        let apart = |named: &NamedDrum| apart_db(&named.signature, &drum.signature);
        let nearest = self
            .drums
            .iter()
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        (apart(nearest) < SAME_DRUM_DB).then_some(nearest.name.as_str())
    }

    /// Gives a drum a name of its own; an empty one takes it away.
    pub fn name_drum(&mut self, signature: Signature, name: &str) {
        let same = |levels: &[f32; 10]| apart_db(levels, &signature) < SAME_DRUM_DB;
        self.drums.retain(|named| !same(&named.signature));
        let name = cut(name, LONGEST_NAME);
        if !name.is_empty() {
            self.drums.push(NamedDrum {
                name,
                signature: signature.levels_db,
            });
        }
    }

    /// Gives an overhead a name of its own; an empty one takes it away.
    pub fn name_overhead(&mut self, overhead: Overhead, name: &str) {
        *match overhead {
            Overhead::First => &mut self.first,
            Overhead::Second => &mut self.second,
        } = cut(name, LONGEST_NAME);
    }

    /// A free line.
    pub fn line(&self, line: Line) -> &str {
        match line {
            Line::Microphones => &self.microphones,
            Line::Heights => &self.heights,
            Line::Remarks => &self.remarks,
        }
    }

    /// Writes a free line.
    pub fn write(&mut self, line: Line, text: &str) {
        *match line {
            Line::Microphones => &mut self.microphones,
            Line::Heights => &mut self.heights,
            Line::Remarks => &mut self.remarks,
        } = cut(text, LONGEST_LINE);
    }

    /// The gaps of today are the ones to come back to.
    pub fn keep_target(&mut self, measurement: &Measurement) {
        let target = measurement.drums().iter().filter_map(|drum| {
            Some(TargetGap {
                gap_s: drum.gap?.attack_s,
                signature: drum.signature.levels_db,
            })
        });
        self.target = target.collect();
    }

    /// Zero is the target again.
    pub fn drop_target(&mut self) {
        self.target.clear();
    }

    /// There is a target other than zero.
    pub fn has_target(&self) -> bool {
        !self.target.is_empty()
    }

    /// The gap that a drum is to have again, seconds; `None`: there is none for it.
    pub fn target_s(&self, drum: &Drum) -> Option<f64> {
        let apart = |target: &TargetGap| apart_db(&target.signature, &drum.signature);
        let nearest = self
            .target
            .iter()
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        (apart(nearest) < SAME_DRUM_DB).then_some(nearest.gap_s)
    }
}

fn apart_db(levels: &[f32; 10], signature: &Signature) -> f32 {
    let levels = Signature { levels_db: *levels };
    levels.distance_db(signature)
}

fn cut(text: &str, longest: usize) -> String {
    let printable = text.trim().chars().filter(|letter| !letter.is_control());
    printable.take(longest).collect()
}

/// Writes them over what was there.
pub fn write_notes(notes: &TakeNotes, saved: &mut Map<String, Value>) {
    let value = serde_json::to_value(notes).unwrap_or_default();
    saved.insert(KEY.into(), value);
}

/// Reads what can be read.
pub fn read_notes(saved: &Map<String, Value>) -> TakeNotes {
    let notes = saved.get(KEY).map(TakeNotes::deserialize);
    let mut notes = notes.and_then(Result::ok).unwrap_or_default();
    notes.target.retain(|target| target.gap_s.abs() < 1.0);
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::measurement::Lag;

    fn drum(level_db: f32, gap_s: f64) -> Drum {
        Drum {
            gap: Some(Lag {
                attack_s: gap_s,
                ..Lag::default()
            }),
            signature: Signature {
                levels_db: std::array::from_fn(|band| level_db * (band as f32 - 4.5)),
            },
            ..Drum::default()
        }
    }

    #[test]
    fn a_drum_keeps_its_name_and_its_target_in_another_take() {
        let mut notes = TakeNotes::default();
        let (high, low) = (drum(4.0, 1e-3), drum(-4.0, -2e-3));
        notes.name_drum(low.signature, "  big\ttom \n");
        let mut measurement = Measurement {
            drum_count: 2,
            ..Measurement::default()
        };
        measurement.drums[..2].copy_from_slice(&[high, low]);
        notes.keep_target(&measurement);
        let mut saved = Map::new();
        write_notes(&notes, &mut saved);
        let mut loaded = read_notes(&saved);
        assert_eq!(loaded, notes);
        let again = drum(-4.5, 0.0);
        assert_eq!(loaded.drum_name(&again), Some("bigtom"));
        assert_eq!(loaded.target_s(&again), Some(-2e-3));
        assert_eq!(loaded.drum_name(&high), None);
        assert_eq!(loaded.target_s(&drum(0.0, 0.0)), None);
        loaded.name_drum(again.signature, "");
        assert_eq!(loaded.drum_name(&low), None);
        loaded.drop_target();
        assert!(!loaded.has_target());
    }

    #[test]
    fn damage_is_no_notes() {
        let damage = serde_json::json!({"notes": {"first": 4, "target": "far"}});
        let Value::Object(saved) = damage else {
            unreachable!()
        };
        assert_eq!(read_notes(&saved), TakeNotes::default());
    }
}
