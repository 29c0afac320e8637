//! From a measurement and the engineer's settings to three delays: who waits for whom, and how much reach is missing.
//!
//! Promises that the same measurement and settings always give the same plan. Called by the audio path, the window and the
//! commands; calls nothing but the measurement's words. What is too unsure is left out in `certain`, the shifts of the pair are
//! worked out in `correction`, the spot's in `spot`.

mod certain;
mod correction;
mod finite;
mod settings;
mod spot;

pub use settings::{Anchor, LEAST_CONFIDENCE, Match, PlanSettings, PolarityChoice};
pub use spot::{CorrectedOverhead, SpotPlan, SpotTiming, spot_plan};

use crate::measurement::{Lag, Measurement, Polarity};
use certain::Certain;
use correction::{aim_of, correction, flip};
use finite::number;

/// Where the two channels and the spot go, relative to where they were recorded.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Plan {
    /// Shift of the first channel, seconds, positive later; never earlier than the reach allows.
    pub first_s: f64,
    /// Shift of the second channel, seconds.
    pub second_s: f64,
    /// The polarity of the second channel (of a mono main: of the channel) is reversed.
    pub flip: bool,
    /// How much more reach the wanted shift needs, seconds; zero when it fits.
    pub missing_reach_s: f64,
    /// Where the spot goes in the print.
    pub spot: SpotPlan,
}

/// Most a channel is ever held back, in seconds: 60 ms is 20 m of air, past any overhead and most rooms.
pub const MAX_DELAY_S: f64 = 0.060;

/// Where the channels go. The same measurement and settings always give the same plan: nothing is followed or smoothed.
///
/// - First against second always uses the gap measured directly between the two, also when the spot is the anchor.
/// - An overhead that is the anchor stays even when the reach is too short for the other: that one goes as far as it
///   can. Where both are moved to the spot, both stop together, so that the pair stays aligned.
/// - The amount scales time only; polarity has its own choice. What was not measured, or
///   not surely enough, is not corrected: neither its time nor its polarity.
pub fn plan(measurement: &Measurement, channels: usize, settings: &PlanSettings) -> Plan {
    if !settings.correct {
        return Plan::default();
    }
    let anchor = if channels == 1 {
        Anchor::Spot
    } else {
        settings.anchor
    };
    let certain = Certain::new(measurement, settings.least_confidence);
    let (first, second) = correction(&certain, channels, anchor, settings);
    let amount = number(settings.amount).clamp(0.0, 1.0);
    let first = first * amount + number(settings.nudge_first_s);
    let second = match channels {
        1 => 0.0,
        _ => second * amount + number(settings.nudge_second_s),
    };
    let flip = flip(&certain, channels, settings.polarity);
    let stopped_together = anchor == Anchor::Spot && channels != 1;
    let missing = missing_reach(first.min(second), settings.reach_s);
    let held_back = if stopped_together { missing } else { 0.0 };
    let fit = |shift: f64| (shift + held_back).clamp(-reach(settings.reach_s), MAX_DELAY_S);
    let (first_s, second_s) = (fit(first), fit(second));
    let spot = match channels {
        1 => SpotPlan::default(),
        _ => spot(&certain, settings, [first_s, second_s], flip),
    };
    Plan {
        first_s,
        second_s,
        flip,
        missing_reach_s: missing,
        spot,
    }
}

/// The spot with the pair as it leaves. The amount is not for the spot: where the overheads stand after it, it joins them.
fn spot(
    certain: &Certain,
    settings: &PlanSettings,
    [first_s, second_s]: [f64; 2],
    flip_second: bool,
) -> SpotPlan {
    let trim_s = number(settings.spot_trim_s);
    let overhead = |lag: Option<Lag>, shift_s: f64, flip: bool| CorrectedOverhead {
        arrival_s: aim_of(lag, settings).map(|aim_s| aim_s + trim_s + shift_s),
        polarity: lag.map_or(Polarity::Undecided, |lag| lag.polarity),
        flip,
    };
    let [to_first, to_second] = certain.spots_own;
    let first = overhead(to_first, first_s, false);
    let second = overhead(to_second, second_s, flip_second);
    spot_plan(&[first, second], -reach(settings.reach_s)..=MAX_DELAY_S)
}

/// How much earlier than the reach allows the earliest channel should go, seconds.
fn missing_reach(earliest: f64, reach_s: f64) -> f64 {
    (-earliest - reach(reach_s)).max(0.0)
}

fn reach(reach_s: f64) -> f64 {
    number(reach_s).max(0.0)
}

#[cfg(test)]
mod tests;
