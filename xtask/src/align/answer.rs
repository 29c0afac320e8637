//! What `align` answers: one JSON object, or a few lines and a table for people.

use std::fmt::Write;
use std::path::PathBuf;

use plumbline_dsp::measurement::Lag;
use serde::Serialize;

use super::{Done, stem};
use crate::found::{Found, polarity_word, voice_word};
use crate::verdict::Scale;

/// The object of `--json`. Gaps are second minus first: positive, the second is later.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Samples a second.
    pub sample_rate: f64,
    /// Counted hits of the spot's own drum.
    pub hits: u32,
    /// Hits that were not counted.
    pub hits_refused: u32,
    /// Gap of the first wavefronts.
    pub attack_gap_samples: f64,
    /// Gap at which the body sums fullest.
    pub body_gap_samples: f64,
    /// Attack gap, seconds.
    pub gap_seconds: f64,
    /// Attack gap as a distance, cm.
    pub gap_cm: f64,
    /// The same, inches.
    pub gap_inches: f64,
    /// Standard error of the attack gap.
    pub spread_samples: f64,
    /// First minus spot; null without a spot.
    pub spot_to_first_samples: Option<f64>,
    /// Second minus spot; null without a spot.
    pub spot_to_second_samples: Option<f64>,
    /// "same", "inverted" or "undecided".
    pub second_polarity: &'static str,
    /// 0 to 1.
    pub confidence: f64,
    /// Level of the mono sum on the hits, after minus before.
    pub mono_sum_gain_db: f64,
    /// Shift of the first channel, positive later, latency not counted.
    pub first_delay_samples: f64,
    /// Shift of the second channel.
    pub second_delay_samples: f64,
    /// The plugin's latency with these settings; already taken out of the files.
    pub latency_samples: u32,
    /// In plain words.
    pub verdict: String,
    /// What was written.
    pub files: Vec<PathBuf>,
    /// Each drum's own gap: the deciding spot's first, then those of the other spots, then what else was heard.
    pub voices: Vec<VoiceAnswer>,
}

/// One drum.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VoiceAnswer {
    /// The spot's file name, or what an unnamed drum sounds like.
    pub name: String,
    /// Counted hits.
    pub hits: u32,
    /// Second minus first.
    pub gap_samples: f64,
    /// Standard error.
    pub spread_samples: f64,
}

impl Answer {
    /// Everything in samples of the file.
    pub fn of(done: &Done) -> Self {
        let (found, scale) = (done.found(), done.scale);
        // A take without a gap never gets here.
        let gap = found.gap.unwrap_or_default();
        let lag = |lag: Option<Lag>| lag.map(|lag| scale.samples(lag.attack_s));
        Self {
            sample_rate: scale.sample_rate,
            hits: found.hits,
            hits_refused: found.refused.total(),
            attack_gap_samples: scale.samples(gap.attack_s),
            body_gap_samples: scale.samples(gap.body_s),
            gap_seconds: gap.attack_s,
            gap_cm: scale.cm(gap.attack_s),
            gap_inches: scale.inches(gap.attack_s),
            spread_samples: scale.samples(gap.spread_s),
            spot_to_first_samples: lag(found.spot_to_first),
            spot_to_second_samples: lag(found.spot_to_second),
            second_polarity: polarity_word(gap.polarity),
            confidence: gap.confidence,
            mono_sum_gain_db: done.mono_sum_gain_db(),
            first_delay_samples: scale.samples(done.corrected.applied.first_s),
            second_delay_samples: scale.samples(done.corrected.applied.second_s),
            latency_samples: done.corrected.latency,
            verdict: done.verdict().join(" "),
            files: done.written.clone(),
            voices: voices(done),
        }
    }

    /// For people: numbers, verdict, drums, files.
    pub fn words(&self, done: &Done) -> String {
        let mut text = String::new();
        // Writing into a String cannot fail.
        let _ = writeln!(
            text,
            "gap        {:+.3} ms   {:+.2} samples   {:+.1} cm   {:+.2} in   ± {:.2} samples",
            self.gap_seconds * 1e3,
            self.attack_gap_samples,
            self.gap_cm,
            self.gap_inches,
            self.spread_samples
        );
        let _ = writeln!(text, "body gap   {:+.2} samples", self.body_gap_samples);
        let _ = writeln!(
            text,
            "applied    first {:+.2}, second {:+.2} samples{}   mono sum {:+.1} dB on the hits",
            self.first_delay_samples,
            self.second_delay_samples,
            if done.corrected.applied.flip {
                ", second turned over"
            } else {
                ""
            },
            self.mono_sum_gain_db
        );
        let _ = writeln!(text, "\n{}\n", done.verdict().join("\n"));
        text.push_str(&table(&self.voices, &done.scale));
        match self.files.as_slice() {
            [] => text.push_str(
                "\nNothing was written: name a folder with --out for the corrected pair.\n",
            ),
            files => files.iter().for_each(|file| {
                let _ = writeln!(text, "wrote {}", file.display());
            }),
        }
        text
    }
}

/// Each drum's own gap, and what the correction leaves of it.
fn table(voices: &[VoiceAnswer], scale: &Scale) -> String {
    let width = voices
        .iter()
        .map(|voice| voice.name.chars().count())
        .max()
        .unwrap_or(4)
        .max(4);
    let own = voices.first().map_or(0.0, |voice| voice.gap_samples);
    let mut text = format!(
        "{:width$}  hits  gap samples     cm   ± samples   after aligning the first\n",
        "drum"
    );
    for voice in voices {
        let _ = writeln!(
            text,
            "{:width$}  {:4}  {:+11.2}  {:+5.1}  {:10.2}  {:+17.2} samples",
            voice.name,
            voice.hits,
            voice.gap_samples,
            scale.cm(voice.gap_samples / scale.sample_rate),
            voice.spread_samples,
            voice.gap_samples - own
        );
    }
    text
}

/// The deciding spot's own drum, each further spot's, then the unnamed ones the deciding spot hears.
pub fn voices(done: &Done) -> Vec<VoiceAnswer> {
    let names: Vec<String> = match done.files.spots.as_slice() {
        [] => vec!["hits".to_owned()],
        spots => spots.iter().map(|spot| stem(spot)).collect(),
    };
    let own = done
        .measured
        .found
        .iter()
        .zip(&names)
        .map(|(found, name)| own_voice(found, name, &done.scale));
    let others = done.measured.found[0]
        .voices
        .iter()
        .skip(1)
        .map(|voice| VoiceAnswer {
            name: voice_word(voice.name, &names[0]),
            hits: voice.hits,
            gap_samples: done.scale.samples(voice.gap_s),
            spread_samples: done.scale.samples(voice.spread_s),
        });
    own.chain(others).collect()
}

fn own_voice(found: &Found, name: &str, scale: &Scale) -> VoiceAnswer {
    let gap = found.gap.unwrap_or_default();
    VoiceAnswer {
        name: name.to_owned(),
        hits: found.hits,
        gap_samples: scale.samples(gap.attack_s),
        spread_samples: scale.samples(gap.spread_s),
    }
}
