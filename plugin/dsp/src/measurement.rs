//! What a measurement says: gaps in seconds, how sure they are, and which drum they belong to.

/// How the second channel's polarity stands against the first's (or a channel's against the spot's).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Polarity {
    /// The wavefronts push the same way.
    Same,
    /// One of the two is upside down.
    Inverted,
    /// The hits disagree, or the peak is not clear enough to say. Never corrected automatically.
    #[default]
    Undecided,
}

/// One measured lag between two signals: later minus earlier named signal, positive = the latter is later.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Lag {
    /// The first wavefronts land together when this is taken out, in seconds.
    pub attack_s: f64,
    /// The sum is fullest over the drum's body when this is taken out, in seconds.
    pub body_s: f64,
    /// Standard error of `attack_s`, in seconds: √(s² / n + d² + e² / n), of n hits that scatter by s and whose fronts stand in
    /// noise worth e; d is half of what onsets, phase and the two halves of the band disagree by.
    pub spread_s: f64,
    /// Sign of the correlation at the accepted lag.
    pub polarity: Polarity,
    /// 0 (a guess) to 1 (sure): n / (n + 1) / (1 + (`spread_s` / 31 µs)²) · p, of n hits; p is the part of the votes that agree
    /// with the polarity, 0.5 when that is undecided. An index, not a probability.
    pub confidence: f64,
}

/// Why hits were not counted, one counter a reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Refused {
    /// A sample at full scale inside the window.
    pub clipped: u32,
    /// Another hit too near before or after.
    pub crowded: u32,
    /// Too little above the noise, or no clear arrival.
    pub buried: u32,
}

impl Refused {
    /// All refused hits.
    pub fn total(&self) -> u32 {
        self.clipped + self.crowded + self.buried
    }
}

/// The drum a hit was sorted to, named from its spectrum and arrival pattern.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum VoiceName {
    /// The spot's own drum: the one that measures.
    #[default]
    Spot,
    /// Another drum with most of its energy low.
    Low,
    /// Another drum with most of its energy in the middle.
    Middle,
    /// Cymbals, hats: most of the energy high.
    High,
}

/// One drum's own gap: shown, and only the spot's own voice decides.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Voice {
    /// What the hits sound like.
    pub name: VoiceName,
    /// Hits counted to this voice.
    pub hits: u32,
    /// Second minus first, seconds.
    pub gap_s: f64,
    /// Standard error of `gap_s`, seconds.
    pub spread_s: f64,
}

/// What became of one hit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HitOutcome {
    /// Counted: it belongs to `voice` (index into [`Measurement::voices`]) and says `gap_s`.
    Counted {
        /// Index into [`Measurement::voices`].
        voice: u8,
        /// Second minus first of this hit alone, seconds.
        gap_s: f64,
        /// First minus spot of this hit alone, seconds; zero when no spot is connected.
        spot_to_first_s: f64,
    },
    /// A sample at full scale inside the window.
    Clipped,
    /// Another hit too near.
    Crowded,
    /// Too little above the noise, or no clear arrival.
    Buried,
}

/// One hit of the log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// Seconds of audio pushed since the last reset.
    pub at_s: f64,
    /// What became of it.
    pub outcome: HitOutcome,
}

/// Most voices told apart.
pub const MAX_VOICES: usize = 6;

/// Everything the analyser knows so far. Plain numbers: copy it, store it, send it.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Measurement {
    /// Hits of the spot's own voice that were counted.
    pub hits: u32,
    /// Hits that were not, by reason.
    pub refused: Refused,
    /// Second minus first, measured directly between the two. `None` for a mono main or before the first hit.
    pub gap: Option<Lag>,
    /// First minus spot. `None` without a spot.
    pub spot_to_first: Option<Lag>,
    /// Second minus spot. `None` without a spot or for a mono main.
    pub spot_to_second: Option<Lag>,
    /// The drums told apart, the spot's own first; only the first `voice_count` are filled.
    pub voices: [Voice; MAX_VOICES],
    /// How many of `voices` are filled.
    pub voice_count: u8,
}

impl Measurement {
    /// The filled voices, the spot's own first.
    pub fn voices(&self) -> &[Voice] {
        &self.voices[..usize::from(self.voice_count)]
    }
}
