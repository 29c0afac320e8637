//! Names and short phrases: channels, counts, polarity, certainty, frequencies, rate and latency.

use crate::editor::drawing::{plain, signed};
use crate::editor::frame::{Air, Channels, Frame};
use crate::session::Lengths;
use plumbline_dsp::measurement::{HitOutcome, Polarity, Refused};
use plumbline_dsp::meters::comb::{Comb, Copied};
use plumbline_dsp::meters::mono_sum_loss::BANDS;

/// From this confidence on the words are "sure" and "fairly sure" (common practice, no source).
const SURE: f64 = 0.8;
/// Below this no stand is moved.
pub const FAIRLY_SURE: f64 = 0.5;
/// Notches above this are not heard, Hz.
const AUDIBLE_HZ: f64 = 20_000.0;

/// The two that are compared, the later one named second.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Names<'a> {
    pub early: &'a str,
    pub late: &'a str,
}

/// Of a layout: the overheads by their own names where they have some.
pub fn names(frame: &Frame) -> Names<'_> {
    fn own<'a>(name: &'a str, usual: &'static str) -> &'a str {
        if name.is_empty() { usual } else { name }
    }
    match frame.activation.channels {
        Channels::Pair => Names {
            early: own(&frame.notes.first, "first"),
            late: own(&frame.notes.second, "second"),
        },
        Channels::Mono => Names {
            early: "spot",
            late: "channel",
        },
    }
}

/// A distance without a sign in the unit that is shown first: "3.4 cm", "1.3 in".
pub fn distance(air: &Air, seconds: f64) -> String {
    match air.lengths {
        Lengths::Centimetres => format!("{} cm", plain(air.cm(seconds).abs(), 1)),
        Lengths::Inches => format!("{} in", plain(air.inches(seconds).abs(), 1)),
    }
}

/// A distance to five centimetres or two inches: what is not sure has no decimals.
pub fn about(air: &Air, seconds: f64) -> String {
    match air.lengths {
        Lengths::Centimetres => format!("{:.0} cm", rounded(air.cm(seconds), 5.0)),
        Lengths::Inches => format!("{:.0} in", rounded(air.inches(seconds), 2.0)),
    }
}

/// To whole steps, one at least.
fn rounded(length: f64, step: f64) -> f64 {
    step * (length.abs() / step).round().max(1.0)
}

/// A gap with its sign in the unit that is shown first.
pub fn length(air: &Air, seconds: f64) -> String {
    match air.lengths {
        Lengths::Centimetres => format!("{} cm", signed(air.cm(seconds), 1)),
        Lengths::Inches => format!("{} in", signed(air.inches(seconds), 2)),
    }
}

/// A gap with its sign in the other unit.
pub fn other_length(air: &Air, seconds: f64) -> String {
    let other = match air.lengths {
        Lengths::Centimetres => Lengths::Inches,
        Lengths::Inches => Lengths::Centimetres,
    };
    let lengths = Air {
        lengths: other,
        ..*air
    };
    length(&lengths, seconds)
}

/// Why there is no curve.
pub fn not_drawn(frame: &Frame) -> &'static str {
    match frame.lag() {
        Some(_) => "comes back with the next hits",
        None => "drawn from the first hit on",
    }
}

/// "same", "reversed", "undecided".
pub fn polarity_word(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "reversed",
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

/// "2 clipped, 1 buried in noise"; empty when none was.
pub fn refused_words(refused: &Refused) -> String {
    let reasons = [
        (refused.clipped, "clipped"),
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
        HitOutcome::Buried => Some("the last hit was buried"),
    }
}

/// Where the sum of two equal channels `lag_s` apart has its first notches: of a reversed polarity, one at 0 Hz and the next at a whole
/// turn.
pub fn first_notch(lag_s: f64, polarity: Polarity) -> String {
    let copied = match polarity {
        Polarity::Inverted => Copied::Inverted,
        Polarity::Same | Polarity::Undecided => Copied::Upright,
    };
    let comb = Comb {
        delay_s: lag_s.abs().max(1e-9),
        level: 1.0,
        copied,
    };
    match copied {
        Copied::Upright => notch_words(comb.notch_hz(0)),
        Copied::Inverted => format!("0 Hz, {}", notch_words(comb.notch_hz(1))),
    }
}

fn notch_words(hz: f64) -> String {
    match hz {
        hz if hz >= AUDIBLE_HZ => "above 20 kHz".to_owned(),
        hz if hz >= 1000.0 => format!("{:.1} kHz", hz / 1000.0),
        hz => format!("{hz:.0} Hz"),
    }
}

/// "100", "1k", "3.15k": the nominal names of third octaves (IEC 61260-1:2014, annex E).
pub fn band_name(band: usize) -> &'static str {
    const NAMES: [&str; BANDS] = [
        "31.5", "40", "50", "63", "80", "100", "125", "160", "200", "250", "315", "400", "500",
        "630", "800", "1k", "1.25k", "1.6k", "2k", "2.5k", "3.15k", "4k", "5k",
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

/// What the lag is measured between.
pub fn lag_caption(frame: &Frame) -> String {
    let Names { early, late } = names(frame);
    match frame.activation.channels {
        Channels::Pair => format!("Gap, {late} after {early}"),
        Channels::Mono => format!("Lag, {late} after {early}"),
    }
}

/// A lag in all units.
pub struct LagWords {
    /// In the unit that is shown first.
    pub length: String,
    pub ms: String,
    pub samples: String,
    pub other_length: String,
}

impl LagWords {
    /// Of a lag in seconds.
    pub fn new(air: &Air, lag_s: f64) -> Self {
        Self {
            length: length(air, lag_s),
            ms: format!("{} ms", signed(lag_s * 1000.0, 3)),
            samples: format!("{} samples", signed(air.samples(lag_s), 2)),
            other_length: other_length(air, lag_s),
        }
    }
}

/// The gap as a sentence for those who do not see the figures.
pub fn gap_words(frame: &Frame) -> String {
    let Some(lag) = frame.lag() else {
        return "No gap yet".to_owned();
    };
    let LagWords {
        length,
        ms,
        samples,
        other_length,
    } = LagWords::new(&frame.air(), lag.attack_s);
    let caption = lag_caption(frame);
    format!("{caption}: {length}, {ms}, {samples}, {other_length}")
}

/// The correlation before and after the correction.
pub fn correlation_words(frame: &Frame) -> String {
    match &frame.comparison {
        Some(comparison) => format!(
            "{}, after {}",
            signed(comparison.before.correlation, 2),
            signed(comparison.after.correlation, 2)
        ),
        None => "with the next hits".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inverted_pair_has_its_notches_at_zero_and_at_a_whole_turn() {
        for (lag_ms, polarity, words) in [
            (1.0, Polarity::Same, "500 Hz"),
            (-0.1, Polarity::Same, "5.0 kHz"),
            (0.02, Polarity::Undecided, "above 20 kHz"),
            (1.0, Polarity::Inverted, "0 Hz, 1.0 kHz"),
            (0.0, Polarity::Inverted, "0 Hz, above 20 kHz"),
        ] {
            assert_eq!(
                first_notch(lag_ms * 1e-3, polarity),
                words,
                "{lag_ms} ms {polarity:?}"
            );
        }
    }
}
