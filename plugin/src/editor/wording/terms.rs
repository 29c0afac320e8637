//! Names and short phrases: channels, counts, polarity, certainty, frequencies, rate and latency.

use crate::editor::frame::{Channels, Frame};
use plumbline_dsp::measurement::{HitOutcome, Polarity, Refused};
use plumbline_dsp::meters::comb::{Comb, Copied};
use plumbline_dsp::meters::mono_sum_loss::BANDS;

/// From this confidence on the words are "sure" and "fairly sure" (common practice, no source).
const SURE: f64 = 0.8;
const FAIRLY_SURE: f64 = 0.5;
/// Nulls above this are not heard, Hz.
const AUDIBLE_HZ: f64 = 20_000.0;

/// The two that are compared, the later one named second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Names {
    pub early: &'static str,
    pub late: &'static str,
}

/// Of a layout.
pub fn names(channels: Channels) -> Names {
    match channels {
        Channels::Pair => Names {
            early: "first",
            late: "second",
        },
        Channels::Mono => Names {
            early: "spot",
            late: "channel",
        },
    }
}

/// Why there is no curve.
pub fn not_drawn(frame: &Frame) -> &'static str {
    match frame.lag() {
        Some(_) => "comes back with the next hits",
        None => "drawn from the first hit on",
    }
}

/// "same", "inverted", "undecided".
pub fn polarity_word(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "inverted",
        Polarity::Undecided => "undecided",
    }
}

/// How sure the measurement is, in a word.
pub fn certainty(confidence: f64) -> &'static str {
    match confidence {
        c if c >= SURE => "sure",
        c if c >= FAIRLY_SURE => "fairly sure",
        _ => "not sure",
    }
}

/// "12 hits".
pub fn hits(count: u32) -> String {
    match count {
        1 => "1 hit".to_owned(),
        _ => format!("{count} hits"),
    }
}

/// "2 clipped, 1 crowded"; empty when none was.
pub fn refused_words(refused: &Refused) -> String {
    let reasons = [
        (refused.clipped, "clipped"),
        (refused.crowded, "crowded"),
        (refused.buried, "buried in noise"),
    ];
    let words: Vec<String> = reasons
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{count} {why}"))
        .collect();
    words.join(", ")
}

/// Why the newest hit was not used, if it was not.
pub fn last_refused(frame: &Frame) -> Option<&'static str> {
    match frame.report.log.iter().flatten().last()?.outcome {
        HitOutcome::Counted { .. } => None,
        HitOutcome::Clipped => Some("the last hit clipped"),
        HitOutcome::Crowded => Some("the last hit was crowded"),
        HitOutcome::Buried => Some("the last hit was buried"),
    }
}

/// Where the sum of two equal channels `lag_s` apart has its first null.
pub fn first_null(lag_s: f64) -> String {
    let comb = Comb {
        delay_s: lag_s.abs().max(1e-9),
        level: 1.0,
        copied: Copied::Upright,
    };
    let hz = comb.null_hz(0);
    match hz {
        hz if hz >= AUDIBLE_HZ => "above 20 kHz".to_owned(),
        hz if hz >= 1000.0 => format!("{:.1} kHz", hz / 1000.0),
        hz => format!("{hz:.0} Hz"),
    }
}

/// "100", "1k", "3.15k": the nominal names of third octaves (IEC 61260-1:2014, annex E).
pub fn band_name(band: usize) -> &'static str {
    const NAMES: [&str; BANDS] = [
        "100", "125", "160", "200", "250", "315", "400", "500", "630", "800", "1k", "1.25k",
        "1.6k", "2k", "2.5k", "3.15k", "4k", "5k",
    ];
    NAMES[band]
}

/// Sample rate and latency.
pub fn rate_and_latency(frame: &Frame) -> String {
    let Some(sample_rate) = frame.activation.sample_rate else {
        return "not running yet".to_owned();
    };
    let latency = frame.activation.latency;
    format!(
        "{} kHz · latency {latency} samples, {:.1} ms",
        sample_rate / 1000.0,
        1000.0 * f64::from(latency) / sample_rate
    )
}
