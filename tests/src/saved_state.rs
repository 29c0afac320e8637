//! The measurement as it stands in the plugin's saved state.

use anyhow::{Context, Result};
use serde::Deserialize;
use serde_json::Value;

/// Everything under the state's `measurement`.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
pub struct SavedMeasurement {
    pub version: u32,
    pub temperature_c: f64,
    /// Counted hits of the drum that is aligned.
    pub hits: u32,
    pub refused: Refused,
    pub gap: Option<Lag>,
    pub spot_to_first: Option<Lag>,
    pub spot_to_second: Option<Lag>,
    /// The drums told apart.
    #[serde(default)]
    pub drums: Vec<Drum>,
    /// Index into the drums of the one that is aligned.
    #[serde(default)]
    pub chosen: Option<u8>,
    /// Why it is that one, in one word.
    #[serde(default)]
    pub why: String,
    /// Index into the drums of the one that the spot stands at.
    #[serde(default)]
    pub spots_own: Option<u8>,
    #[serde(default)]
    pub spot_heard: bool,
    /// The compromise for the whole kit.
    #[serde(default)]
    pub kit: Option<KitMatch>,
    /// Oldest first.
    pub log: Vec<LoggedHit>,
    /// Seconds of reach that the correction lacks.
    pub missing_reach_s: f64,
    /// What the plugin does to the channels now.
    pub applied: Applied,
    /// Frames lost between the audio thread and the analysis.
    pub dropped_frames: u64,
}

/// Hits that were not counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
pub struct Refused {
    pub clipped: u32,
    pub buried: u32,
}

impl Refused {
    /// All of them.
    pub fn total(self) -> u32 {
        self.clipped + self.buried
    }
}

/// One lag, seconds.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Lag {
    pub attack_s: f64,
    pub body_s: f64,
    pub spread_s: f64,
    /// `same`, `inverted` or `undecided`.
    pub polarity: String,
    /// Probability that it is right, 0.5 to 1.
    pub polarity_odds: f64,
    /// Probability of an error under 1 cm of air, 0 to 1.
    pub confidence: f64,
}

/// One drum.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Drum {
    /// Stays with the drum as long as it is known.
    pub number: u8,
    /// `snare`, `kick`, `tom`, `cymbal` or `drum`.
    pub kind: String,
    pub hits: u32,
    pub gap: Option<Lag>,
    pub spot_to_first: Option<Lag>,
    pub spot_to_second: Option<Lag>,
    /// What its mono sum loses as recorded, dB.
    #[serde(default)]
    pub mono_loss_recorded_db: Option<f64>,
    /// The same as corrected.
    #[serde(default)]
    pub mono_loss_db: Option<f64>,
}

/// Where the mono sum of the whole kit loses least.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct KitMatch {
    pub upright: KitAim,
    /// With the second channel's polarity reversed.
    pub turned: KitAim,
    pub recorded_db: f64,
}

/// A gap, and what is lost when it is taken out.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct KitAim {
    pub gap_s: f64,
    pub loss_db: f64,
}

/// One hit of the log.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct LoggedHit {
    pub at_s: f64,
    /// `counted`, `clipped` or `buried`.
    pub outcome: String,
    /// Number of the drum, when counted.
    pub drum: Option<u8>,
    /// Second minus first of this hit alone, where its front is clear.
    pub gap_s: Option<f64>,
}

/// Shifts in seconds, positive later.
#[derive(Clone, Copy, Debug, Default, PartialEq, Deserialize)]
pub struct Applied {
    pub first_s: f64,
    pub second_s: f64,
    /// The polarity of the second channel (of a mono main: of the channel) is reversed.
    pub flip: bool,
    /// Of the spot in the print.
    pub spot_s: f64,
    /// The spot's polarity is reversed in the print.
    pub spot_flip: bool,
}

/// The state's JSON, without the length in front of it.
pub(crate) fn parse_state(state: &[u8]) -> Result<Value> {
    let json = state
        .get(8..)
        .context("the plugin's state is shorter than its length field")?;
    serde_json::from_slice(json).context("the plugin's state is no JSON")
}

/// The measurement in a state, if it has one.
pub(crate) fn measurement(state: &[u8]) -> Result<Option<SavedMeasurement>> {
    let state = parse_state(state)?;
    let Some(text) = state["fields"]["measurement"].as_str() else {
        return Ok(None);
    };
    let saved = serde_json::from_str(text).context("the saved measurement does not read")?;
    Ok(Some(saved))
}
