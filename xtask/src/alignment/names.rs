//! What drums, polarities and refusals are called.

use plumbline_dsp::measurement::{Polarity, Refused, VoiceName};

/// "same", "inverted" or "undecided".
pub fn polarity_name(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "inverted",
        Polarity::Undecided => "undecided",
    }
}

/// What a voice is called: the spot's own by its file, the others by their sound.
pub fn voice_name(name: VoiceName, spot: &str) -> String {
    match name {
        VoiceName::Spot => spot.to_owned(),
        VoiceName::Low => "low drum".to_owned(),
        VoiceName::Middle => "middle drum".to_owned(),
        VoiceName::High => "cymbals".to_owned(),
    }
}

/// Words of the trade that a file's name may hold, and the drum they mean.
const DRUMS: [(&str, &str); 5] = [
    ("snare", "the snare"),
    ("kick", "the kick"),
    ("tom", "the tom"),
    ("hat", "the hi-hat"),
    ("floor", "the floor tom"),
];

/// What the verdict calls the drum before a spot.
pub fn drum_name(spot: Option<&str>) -> String {
    let Some(spot) = spot else {
        return "the hits".to_owned();
    };
    let lower = spot.to_lowercase();
    match DRUMS.iter().find(|(word, _)| lower.contains(word)) {
        Some((_, drum)) => (*drum).to_owned(),
        None => format!("the drum of {spot}"),
    }
}

/// "2 clipped, 1 crowded", or nothing.
pub fn refused_counts(refused: &Refused) -> Option<String> {
    let reasons = [
        (refused.clipped, "clipped"),
        (refused.crowded, "crowded by a neighbour"),
        (refused.buried, "buried in noise"),
    ];
    let words: Vec<String> = reasons
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, why)| format!("{count} {why}"))
        .collect();
    (!words.is_empty()).then(|| words.join(", "))
}
