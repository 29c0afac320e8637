//! What `sweep` answers: one JSON object, or a few lines for people.

use std::fmt::Write;
use std::path::PathBuf;

use serde::Serialize;

use crate::decks::{Bars, NullPoint, Rendered};
use crate::tape::LineUp;

/// Most null points that are printed for people; the JSON has all.
const LISTED: usize = 24;
/// The object of `--json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Answer {
    /// Samples a second.
    pub sample_rate: f64,
    /// Frames of the file.
    pub frames: u64,
    /// The plugin's latency; already taken out of the print.
    pub latency_samples: usize,
    /// Farthest lead of the moving deck (negative) and farthest lag, ms.
    pub least_offset_ms: f64,
    /// See above.
    pub greatest_offset_ms: f64,
    /// Where the decks are together.
    pub null_points: Vec<NullAnswer>,
    /// Largest sample of the file, dB of full scale; null for silence.
    pub peak_in_db: Option<f64>,
    /// Largest sample of the print.
    pub peak_out_db: Option<f64>,
    /// How the tape machine is lined up; null: the file is the print already.
    pub tape: Option<LineUp>,
    /// What was written.
    pub files: Vec<PathBuf>,
}

/// One null point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct NullAnswer {
    /// Sample of the file, from its start.
    pub sample: f64,
    /// The same, seconds.
    pub seconds: f64,
    /// Bar, from 1; its decimals are the way through it.
    pub bar: f64,
    /// How long the decks rest together, seconds; 0 when the moving deck passes.
    pub rests_s: f64,
}

impl Answer {
    /// Gathers it.
    pub fn of(rendered: &Rendered, bars: &Bars, sample_rate: f64, files: Vec<PathBuf>) -> Self {
        let null = |null: &NullPoint| {
            let seconds = null.middle() / sample_rate;
            let rests_s = match null.rests(sample_rate) {
                true => (null.to - null.from) / sample_rate,
                false => 0.0,
            };
            NullAnswer {
                sample: null.middle(),
                seconds,
                bar: bars.bar(seconds),
                rests_s,
            }
        };
        let offsets = || rendered.course.iter().filter_map(|(_, offset_s)| *offset_s);
        Self {
            sample_rate,
            frames: rendered.frames,
            latency_samples: rendered.latency,
            least_offset_ms: 1e3 * offsets().reduce(f64::min).unwrap_or(0.0),
            greatest_offset_ms: 1e3 * offsets().reduce(f64::max).unwrap_or(0.0),
            null_points: rendered.nulls.iter().map(null).collect(),
            peak_in_db: decibels(rendered.peak_in),
            peak_out_db: decibels(rendered.peak_out),
            tape: None,
            files,
        }
    }

    /// The same in lines.
    pub fn words(&self, bars: &Bars) -> String {
        let mut text = format!(
            "offset      {:+.3} to {:+.3} ms\n",
            self.least_offset_ms, self.greatest_offset_ms
        );
        for null in self.null_points.iter().take(LISTED) {
            text += &self.null_words(null, bars);
        }
        match self.null_points.len() {
            0 => text += "null point  none: the moving deck never comes level with the fixed one\n",
            count if count > LISTED => {
                // Writing into a String cannot fail.
                let _ = writeln!(text, "            and {} more", count - LISTED);
            }
            _ => {}
        }
        text += &self.peak_words();
        if let Some(tape) = &self.tape {
            let _ = writeln!(text, "tape        {}", tape.words());
        }
        for file in &self.files {
            let _ = writeln!(text, "written     {}", file.display());
        }
        text
    }

    fn null_words(&self, null: &NullAnswer, bars: &Bars) -> String {
        let moment = bars.words(null.seconds);
        if null.rests_s > 0.0 {
            let (from_s, to_s) = (
                null.seconds - 0.5 * null.rests_s,
                null.seconds + 0.5 * null.rests_s,
            );
            return format!("null point  rests there from {from_s:.3} s to {to_s:.3} s\n");
        }
        let line_s = bars.seconds(null.bar.round());
        let off = (null.seconds - line_s) * self.sample_rate;
        let near = if off.abs() < 1.0 {
            format!(", {off:+.2} samples from the bar line")
        } else {
            String::new()
        };
        format!("null point  {moment} ({:.4} s{near})\n", null.seconds)
    }

    fn peak_words(&self) -> String {
        let (Some(before), Some(after)) = (self.peak_in_db, self.peak_out_db) else {
            return "peak        silence\n".to_owned();
        };
        let loud = if after > 0.0 {
            format!(
                "; above full scale: --output {:.1} brings it down",
                -after - 0.1
            )
        } else {
            String::new()
        };
        format!("peak        {after:+.1} dB, the file {before:+.1} dB{loud}\n")
    }
}

fn decibels(peak: f32) -> Option<f64> {
    (peak > 0.0).then(|| 20.0 * f64::from(peak).log10())
}
