//! What polarities and refusals are called.

use plumbline_dsp::measurement::{Polarity, Refused};

/// "same", "reversed" or "undecided".
pub fn polarity_name(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "reversed",
        Polarity::Undecided => "undecided",
    }
}

/// "2 clipped, 1 buried in noise", or nothing.
pub fn refused_counts(refused: &Refused) -> Option<String> {
    let reasons = [
        (refused.clipped, "clipped"),
        (refused.buried, "buried in noise"),
    ];
    let words: Vec<String> = reasons
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{count} {why}"))
        .collect();
    (!words.is_empty()).then(|| words.join(", "))
}
