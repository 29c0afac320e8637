//! From a measurement and the engineer's settings to two delays: who waits for whom, and how much reach is missing.

use crate::measurement::{Measurement, Polarity};

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
}

/// What to do about the polarity of the second channel (of a mono main: of the channel).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum PolarityChoice {
    /// Turn it over when the measurement says inverted; leave it when undecided.
    #[default]
    AsMeasured,
    /// Leave it.
    AsRecorded,
    /// Turn it over.
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
    /// Which of the two targets.
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
}

/// Where the two channels go, relative to where they were recorded.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Plan {
    /// Shift of the first channel, seconds, positive later; never earlier than the reach allows.
    pub first_s: f64,
    /// Shift of the second channel, seconds.
    pub second_s: f64,
    /// The second channel (of a mono main: the channel) is turned over.
    pub flip: bool,
    /// How much more reach the wanted shift needs, seconds; zero when it fits.
    pub missing_reach_s: f64,
}

/// Most a channel is ever held back, in seconds: 30 ms is 10 m of air, past any overhead and most rooms.
pub const MAX_DELAY_S: f64 = 0.060;
