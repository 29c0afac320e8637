//! What `align` answers: one JSON object, or a few lines and a table for people.

use std::fmt::Write;
use std::path::PathBuf;

use plumbline_dsp::measurement::Lag;
use plumbline_dsp::plan::SpotTiming;
use serde::Serialize;

use crate::alignment::{AlignedTake, DrumGap, MovedSpot, Units, drum_gaps, polarity_name};
use crate::tape::LineUp;

/// The object of `--json`. Gaps are second minus first: positive, the second is later.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Samples a second.
    pub sample_rate: f64,
    /// The drum that is aligned.
    pub drum: String,
    /// Why it is that one, as a sentence.
    pub why: String,
    /// Counted hits of it.
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
    /// "same", "reversed" or "undecided".
    pub second_polarity: &'static str,
    /// 0 to 1.
    pub confidence: f64,
    /// Level of the mono sum on the hits, after minus before.
    pub mono_sum_gain_db: f64,
    /// Shift of the first channel, positive later, latency not counted.
    pub first_delay_samples: f64,
    /// Shift of the second channel.
    pub second_delay_samples: f64,
    /// Shift of the spot in the print; null without a print.
    pub spot_delay_samples: Option<f64>,
    /// The spot's polarity is reversed in the print; null without a print.
    pub spot_polarity_reversed: Option<bool>,
    /// How the tape machine is lined up; null without a print on tape.
    pub tape: Option<LineUp>,
    /// The plugin's latency with these settings; already taken out of the files.
    pub latency_samples: u32,
    /// In plain words.
    pub verdict: String,
    /// What was written.
    pub files: Vec<PathBuf>,
    /// What was done to each close microphone that was written.
    pub spots: Vec<SpotAnswer>,
    /// Each drum's own gap: the one that is aligned first, then what else was heard.
    pub voices: Vec<DrumGap>,
}

/// One close microphone as it was written.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpotAnswer {
    /// The file.
    pub file: PathBuf,
    /// Shift, positive later.
    pub delay_samples: f64,
    /// Its polarity was reversed.
    pub polarity_reversed: bool,
    /// Its lag to the overheads was measured; if not, it was written as recorded.
    pub measured: bool,
}

fn spot_answer(spot: &MovedSpot, units: &Units) -> SpotAnswer {
    SpotAnswer {
        file: spot.path.clone(),
        delay_samples: units.samples(spot.plan.shift_s),
        polarity_reversed: spot.plan.flip,
        measured: spot.plan.timing != SpotTiming::NotMeasured,
    }
}

impl Answer {
    /// Everything in samples of the file.
    pub fn of(take: &AlignedTake) -> Self {
        let (measurement, units) = (take.measurement(), take.units);
        // A take without a gap never gets here.
        let gap = measurement.gap.unwrap_or_default();
        let in_print = take.settings.spot_in_print_db.is_some();
        let lag = |lag: Option<Lag>| lag.map(|lag| units.samples(lag.attack_s));
        Self {
            sample_rate: units.sample_rate,
            drum: measurement
                .chosen_name()
                .trim_start_matches("the ")
                .to_owned(),
            why: measurement.reason(),
            hits: measurement.hits,
            hits_refused: measurement.refused.total(),
            attack_gap_samples: units.samples(gap.attack_s),
            body_gap_samples: units.samples(gap.body_s),
            gap_seconds: gap.attack_s,
            gap_cm: units.cm(gap.attack_s),
            gap_inches: units.inches(gap.attack_s),
            spread_samples: units.samples(gap.spread_s),
            spot_to_first_samples: lag(measurement.spot_to_first),
            spot_to_second_samples: lag(measurement.spot_to_second),
            second_polarity: polarity_name(gap.polarity),
            confidence: gap.confidence,
            mono_sum_gain_db: take.mono_sum_gain_db(),
            first_delay_samples: units.samples(take.corrected.applied.first_s),
            second_delay_samples: units.samples(take.corrected.applied.second_s),
            spot_delay_samples: in_print.then(|| units.samples(take.corrected.applied.spot_s)),
            spot_polarity_reversed: in_print.then_some(take.corrected.applied.spot_flip),
            tape: take.settings.tape.as_ref().map(LineUp::of),
            latency_samples: take.corrected.latency,
            verdict: take.verdict().join(" "),
            files: take.written.clone(),
            spots: take
                .corrected
                .spots
                .iter()
                .map(|spot| spot_answer(spot, &units))
                .collect(),
            voices: drum_gaps(take),
        }
    }

    /// For people: numbers, verdict, drums, files.
    pub fn words(&self, take: &AlignedTake) -> String {
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
            if take.corrected.applied.flip {
                ", second's polarity reversed"
            } else {
                ""
            },
            self.mono_sum_gain_db
        );
        if let Some(delay) = self.spot_delay_samples {
            let _ = writeln!(text, "print      {}", self.spot_words(delay));
        }
        if let Some(tape) = &self.tape {
            let _ = writeln!(text, "tape       {}", tape.words());
        }
        let _ = writeln!(text, "\n{}\n", take.verdict().join("\n"));
        text.push_str(&table(&self.voices, &take.units));
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

impl Answer {
    /// What was done to the spot in the print.
    fn spot_words(&self, delay_samples: f64) -> String {
        if self
            .spot_to_first_samples
            .or(self.spot_to_second_samples)
            .is_none()
        {
            return "spot as recorded: its lag to the overheads was not measured".to_owned();
        }
        let reversed = match self.spot_polarity_reversed {
            Some(true) => ", polarity reversed",
            _ => "",
        };
        format!("spot {delay_samples:+.2} samples{reversed}")
    }
}

/// Each drum's own gap, and what the correction leaves of it.
fn table(drums: &[DrumGap], units: &Units) -> String {
    let width = drums
        .iter()
        .map(|drum| drum.name.chars().count())
        .max()
        .unwrap_or(4)
        .max(4);
    let own = drums.first().and_then(|drum| drum.gap_samples);
    let mut text = format!(
        "{:width$}  hits  gap samples     cm   ± samples   sure   after aligning the first\n",
        "drum"
    );
    for drum in drums {
        let (Some(gap), Some(spread)) = (drum.gap_samples, drum.spread_samples) else {
            let _ = writeln!(text, "{:width$}  {:4}  no gap known", drum.name, drum.hits);
            continue;
        };
        let _ = writeln!(
            text,
            "{:width$}  {:4}  {gap:+11.2}  {:+5.1}  {spread:10.2}  {:4.0}%  {:+17.2} samples",
            drum.name,
            drum.hits,
            units.cm(gap / units.sample_rate),
            100.0 * drum.confidence,
            gap - own.unwrap_or_default()
        );
    }
    text
}
