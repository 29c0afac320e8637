//! From a measurement and the engineer's settings to three delays: who waits for whom, and how much reach is missing.
//!
//! Promises that the same measurement and settings always give the same plan. Called by the audio path, the window and the
//! commands; calls nothing but the measurement's words. The spot's part is in `spot`.

mod spot;

pub use spot::{SpotPlan, SpotTiming};

use crate::measurement::{Lag, Measurement, Polarity};
use spot::{CorrectedOverhead, spot_plan};

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

/// Where the two channels and the spot go, relative to where they were recorded.
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
    /// Where the spot goes in the print.
    pub spot: SpotPlan,
}

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
        }
    }
}

/// Most a channel is ever held back, in seconds: 60 ms is 20 m of air, past any overhead and most rooms.
pub const MAX_DELAY_S: f64 = 0.060;

/// Where the channels go. The same measurement and settings always give the same plan: nothing is followed or smoothed.
///
/// - First against second always uses the gap measured directly between the two, also when the spot is the anchor.
/// - An overhead that is the anchor stays even when the reach is too short for the other: that one goes as far as it
///   can. Where both are moved to the spot, both stop together, so that the pair stays aligned.
/// - The amount scales time only; polarity has its own choice. What was not measured is not corrected.
pub fn plan(measurement: &Measurement, channels: usize, settings: &PlanSettings) -> Plan {
    if !settings.correct {
        return Plan::default();
    }
    let anchor = if channels == 1 {
        Anchor::Spot
    } else {
        settings.anchor
    };
    let (first, second) = correction(measurement, channels, anchor, settings);
    let amount = number(settings.amount).clamp(0.0, 1.0);
    let first = first * amount + number(settings.nudge_first_s);
    let second = match channels {
        1 => 0.0,
        _ => second * amount + number(settings.nudge_second_s),
    };
    let flip = flip(measurement, channels, settings.polarity);
    let stopped_together = anchor == Anchor::Spot && channels != 1;
    let missing = missing_reach(first.min(second), settings.reach_s);
    let held_back = if stopped_together { missing } else { 0.0 };
    let fit = |shift: f64| (shift + held_back).clamp(-reach(settings.reach_s), MAX_DELAY_S);
    let (first_s, second_s) = (fit(first), fit(second));
    let spot = match channels {
        1 => SpotPlan::default(),
        _ => spot(measurement, settings, [first_s, second_s], flip),
    };
    Plan {
        first_s,
        second_s,
        flip,
        missing_reach_s: missing,
        spot,
    }
}

/// Shifts of both channels that take the whole measured lag out, seconds.
fn correction(
    measurement: &Measurement,
    channels: usize,
    anchor: Anchor,
    settings: &PlanSettings,
) -> (f64, f64) {
    let aim = |lag: Option<Lag>| lag.map(|lag| aim_of(lag, settings.target));
    let gap = aim(measurement.gap).filter(|_| channels != 1);
    match anchor {
        Anchor::Later => gap.map_or((0.0, 0.0), |gap| (gap.max(0.0), (-gap).max(0.0))),
        Anchor::First => (0.0, -gap.unwrap_or(0.0)),
        Anchor::Second => (gap.unwrap_or(0.0), 0.0),
        Anchor::Spot => {
            let trim = number(settings.spot_trim_s);
            let first = aim(measurement.spot_to_first).map(|lag| -(lag + trim));
            let second = aim(measurement.spot_to_second).map(|lag| -(lag + trim));
            to_spot(first, second, gap)
        }
    }
}

/// The spot with the pair as it leaves. The amount is not for the spot: where the overheads stand after it, it joins them.
fn spot(
    measurement: &Measurement,
    settings: &PlanSettings,
    [first_s, second_s]: [f64; 2],
    flip_second: bool,
) -> SpotPlan {
    let trim_s = number(settings.spot_trim_s);
    let overhead = |lag: Option<Lag>, shift_s: f64, flip: bool| CorrectedOverhead {
        arrival_s: lag.map(|lag| aim_of(lag, settings.target) + trim_s + shift_s),
        polarity: lag.map_or(Polarity::Undecided, |lag| lag.polarity),
        flip,
    };
    let first = overhead(measurement.spot_to_first, first_s, false);
    let second = overhead(measurement.spot_to_second, second_s, flip_second);
    spot_plan(&[first, second], -reach(settings.reach_s)..=MAX_DELAY_S)
}

/// Both channels to the spot; the second follows the first at the directly measured gap.
fn to_spot(first: Option<f64>, second: Option<f64>, gap: Option<f64>) -> (f64, f64) {
    match (first, second, gap) {
        (Some(first), _, Some(gap)) => (first, first - gap),
        (None, Some(second), Some(gap)) => (second + gap, second),
        (first, second, _) => (first.unwrap_or(0.0), second.unwrap_or(0.0)),
    }
}

fn aim_of(lag: Lag, target: Match) -> f64 {
    number(match target {
        Match::Attack => lag.attack_s,
        Match::Body => lag.body_s,
    })
}

fn flip(measurement: &Measurement, channels: usize, choice: PolarityChoice) -> bool {
    let lag = match channels {
        1 => measurement.spot_to_first,
        _ => measurement.gap,
    };
    match choice {
        PolarityChoice::AsRecorded => false,
        PolarityChoice::Flipped => true,
        PolarityChoice::AsMeasured => lag.is_some_and(|lag| lag.polarity == Polarity::Inverted),
    }
}

/// How much earlier than the reach allows the earliest channel should go, seconds.
fn missing_reach(earliest: f64, reach_s: f64) -> f64 {
    (-earliest - reach(reach_s)).max(0.0)
}

fn reach(reach_s: f64) -> f64 {
    number(reach_s).max(0.0)
}

/// Zero for what is no number.
fn number(x: f64) -> f64 {
    if x.is_finite() { x } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    const MS: f64 = 0.001;

    fn lag(attack_ms: f64, body_ms: f64, polarity: Polarity) -> Option<Lag> {
        Some(Lag {
            attack_s: attack_ms * MS,
            body_s: body_ms * MS,
            polarity,
            ..Lag::default()
        })
    }

    /// First at 4 ms and second at 5 ms after the spot, but the pair itself says 1.1 ms: the pair decides.
    fn second_later() -> Measurement {
        Measurement {
            hits: 4,
            gap: lag(1.1, 0.9, Polarity::Inverted),
            spot_to_first: lag(4.0, 4.2, Polarity::Same),
            spot_to_second: lag(5.0, 5.2, Polarity::Inverted),
            ..Measurement::default()
        }
    }

    fn first_later() -> Measurement {
        Measurement {
            gap: lag(-1.1, -0.9, Polarity::Same),
            ..second_later()
        }
    }

    fn settings(anchor: Anchor, reach_ms: f64) -> PlanSettings {
        PlanSettings {
            anchor,
            reach_s: reach_ms * MS,
            ..PlanSettings::default()
        }
    }

    fn assert_plan(name: &str, plan: Plan, first_ms: f64, second_ms: f64, missing_ms: f64) {
        let got = [plan.first_s, plan.second_s, plan.missing_reach_s].map(|s| s / MS);
        let want = [first_ms, second_ms, missing_ms];
        let near = got.iter().zip(&want).all(|(a, b)| (a - b).abs() < 1e-9);
        assert!(near, "{name}: {got:?} ms instead of {want:?}");
    }

    #[test]
    fn every_anchor_with_and_without_reach() {
        use Anchor::*;
        // anchor, reach, second later: first, second, missing; first later: first, second, missing. All ms.
        let table = [
            (Later, 0.0, [1.1, 0.0, 0.0], [0.0, 1.1, 0.0]),
            (Later, 9.0, [1.1, 0.0, 0.0], [0.0, 1.1, 0.0]),
            (First, 9.0, [0.0, -1.1, 0.0], [0.0, 1.1, 0.0]),
            (First, 0.0, [0.0, 0.0, 1.1], [0.0, 1.1, 0.0]),
            (First, 0.6, [0.0, -0.6, 0.5], [0.0, 1.1, 0.0]),
            (Second, 9.0, [1.1, 0.0, 0.0], [-1.1, 0.0, 0.0]),
            (Second, 1.0, [1.1, 0.0, 0.0], [-1.0, 0.0, 0.1]),
            (Spot, 9.0, [-4.0, -5.1, 0.0], [-4.0, -2.9, 0.0]),
            (Spot, 3.0, [-1.9, -3.0, 2.1], [-3.0, -1.9, 1.0]),
            (Spot, 0.0, [1.1, 0.0, 5.1], [0.0, 1.1, 4.0]),
        ];
        for (anchor, reach, second, first) in table {
            let settings = settings(anchor, reach);
            let name = format!("{anchor:?}, reach {reach} ms");
            let got = plan(&second_later(), 2, &settings);
            assert_plan(&name, got, second[0], second[1], second[2]);
            let got = plan(&first_later(), 2, &settings);
            assert_plan(&name, got, first[0], first[1], first[2]);
        }
    }

    #[test]
    fn amount_body_nudge_and_trim() {
        let base = settings(Anchor::Later, 2.0);
        let half = PlanSettings {
            amount: 0.5,
            ..base
        };
        assert_plan("half", plan(&second_later(), 2, &half), 0.55, 0.0, 0.0);
        let body = PlanSettings {
            target: Match::Body,
            ..base
        };
        assert_plan("body", plan(&second_later(), 2, &body), 0.9, 0.0, 0.0);
        let nudged = PlanSettings {
            nudge_first_s: -0.2 * MS,
            nudge_second_s: -3.0 * MS,
            ..base
        };
        let got = plan(&second_later(), 2, &nudged);
        assert_plan("nudged", got, 0.9, -2.0, 1.0);
        let trimmed = PlanSettings {
            spot_trim_s: -4.0 * MS,
            ..settings(Anchor::Spot, 2.0)
        };
        let got = plan(&second_later(), 2, &trimmed);
        assert_plan("trimmed", got, 0.0, -1.1, 0.0);
    }

    #[test]
    fn mono_always_goes_to_the_spot() {
        for anchor in [Anchor::Later, Anchor::First, Anchor::Second, Anchor::Spot] {
            let got = plan(&second_later(), 1, &settings(anchor, 3.0));
            assert_plan("mono", got, -3.0, 0.0, 1.0);
            assert!(!got.flip, "the channel agrees with the spot");
        }
    }

    #[test]
    fn polarity_is_measured_or_chosen() {
        use PolarityChoice::*;
        let undecided = Measurement {
            gap: lag(1.0, 1.0, Polarity::Undecided),
            ..Measurement::default()
        };
        let table = [
            (AsMeasured, second_later(), true),
            (AsMeasured, first_later(), false),
            (AsMeasured, undecided, false),
            (AsMeasured, Measurement::default(), false),
            (AsRecorded, second_later(), false),
            (Flipped, first_later(), true),
            (Flipped, Measurement::default(), true),
        ];
        for (polarity, measurement, want) in table {
            let settings = PlanSettings {
                polarity,
                ..PlanSettings::default()
            };
            let got = plan(&measurement, 2, &settings).flip;
            assert_eq!(got, want, "{polarity:?} {:?}", measurement.gap);
        }
    }

    #[test]
    fn off_moves_nothing() {
        let off = PlanSettings {
            correct: false,
            polarity: PolarityChoice::Flipped,
            nudge_first_s: 1.0 * MS,
            ..PlanSettings::default()
        };
        assert_eq!(plan(&second_later(), 2, &off), Plan::default());
    }

    #[test]
    fn nothing_measured_leaves_only_the_hand() {
        let hand = PlanSettings {
            nudge_second_s: 0.3 * MS,
            ..PlanSettings::default()
        };
        let got = plan(&Measurement::default(), 2, &hand);
        assert_plan("hand", got, 0.0, 0.3, 0.0);
    }

    #[test]
    fn absurd_numbers_stay_in_the_lines() {
        let absurd = PlanSettings {
            amount: f64::NAN,
            nudge_first_s: f64::INFINITY,
            nudge_second_s: 9.0,
            reach_s: f64::NAN,
            ..PlanSettings::default()
        };
        let got = plan(&second_later(), 2, &absurd);
        assert_plan("absurd", got, 0.0, MAX_DELAY_S / MS, 0.0);
    }
}
