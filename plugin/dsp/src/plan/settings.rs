//! What the engineer sets of the correction: how much, towards what, and which signal stays.

/// The signal that stays where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Anchor {
    /// The overhead that hears the snare later stays; the earlier one is held back.
    #[default]
    Later,
    /// The first channel stays.
    First,
    /// The second channel stays.
    Second,
    /// Both channels are moved to the spot. A mono main always uses this.
    Spot,
}

/// What a match aims at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Match {
    /// First wavefronts land together.
    #[default]
    Attack,
    /// The sum is fullest over the drum's body.
    Body,
    /// The mono sum of the whole kit loses least, each drum by its own level, the drum twice.
    Kit,
}

/// What to do about the polarity of the second channel (of a mono main: of the channel).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum PolarityChoice {
    /// Reverse it when the measurement says so; leave it when undecided.
    #[default]
    AsMeasured,
    /// Leave it.
    AsRecorded,
    /// Reverse its polarity.
    Flipped,
}

/// The engineer's settings that decide the correction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanSettings {
    /// Off: nothing moves, the latency stays.
    pub correct: bool,
    /// Part of the measured correction that is applied, 0 to 1.
    pub amount: f64,
    /// Which signal stays.
    pub anchor: Anchor,
    /// What lands together.
    pub target: Match,
    /// The second channel's polarity.
    pub polarity: PolarityChoice,
    /// The hand's offset of the first channel, seconds, positive later.
    pub nudge_first_s: f64,
    /// The hand's offset of the second channel, seconds, positive later.
    pub nudge_second_s: f64,
    /// How much earlier a channel may be pulled, seconds: the latency the mode adds.
    pub reach_s: f64,
    /// Added to both spot lags: corrects a host that compensates the sidechain wrongly, seconds.
    pub spot_trim_s: f64,
    /// A lag that is less likely than this to be right within 1 cm is not applied, 0 to 1: neither its time nor its
    /// polarity, nor the compromise for the whole kit where it is the pair's.
    pub least_confidence: f64,
}

/// What [`PlanSettings::least_confidence`] is unless another is wanted: a spread of four centimetres, with which a mono
/// sum has nothing to win above 2 kHz.
pub const LEAST_CONFIDENCE: f64 = 0.2;

impl Default for PlanSettings {
    /// All of the measured correction, the later overhead stays, no hand on it, no reach.
    fn default() -> Self {
        Self {
            correct: true,
            amount: 1.0,
            anchor: Anchor::Later,
            target: Match::Attack,
            polarity: PolarityChoice::AsMeasured,
            nudge_first_s: 0.0,
            nudge_second_s: 0.0,
            reach_s: 0.0,
            spot_trim_s: 0.0,
            least_confidence: LEAST_CONFIDENCE,
        }
    }
}
