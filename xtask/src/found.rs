//! What the plugin found on a take with one spot, and how it is put into words.

use plumbline_dsp::measurement::{Hit, Lag, Polarity, Refused, Voice, VoiceName};

/// Everything the plugin knows after a take.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Found {
    /// Counted hits of the spot's own drum.
    pub hits: u32,
    /// Hits that were not counted.
    pub refused: Refused,
    /// Second minus first.
    pub gap: Option<Lag>,
    /// First minus spot.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot.
    pub spot_to_second: Option<Lag>,
    /// The drums told apart, the spot's own first.
    pub voices: Vec<Voice>,
    /// Every hit of the take.
    pub log: Vec<Hit>,
    /// Reach that the anchor wants and was not given, seconds.
    pub missing_reach_s: f64,
}

/// "same", "inverted" or "undecided".
pub fn polarity_word(polarity: Polarity) -> &'static str {
    match polarity {
        Polarity::Same => "same",
        Polarity::Inverted => "inverted",
        Polarity::Undecided => "undecided",
    }
}

/// What a voice is called: the spot's own by its file, the others by their sound.
pub fn voice_word(name: VoiceName, spot: &str) -> String {
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
pub fn drum_words(spot: Option<&str>) -> String {
    let Some(spot) = spot else {
        return "the hits".to_owned();
    };
    let lower = spot.to_lowercase();
    match DRUMS.iter().find(|(word, _)| lower.contains(word)) {
        Some((_, drum)) => (*drum).to_owned(),
        None => format!("the drum of {spot}"),
    }
}
