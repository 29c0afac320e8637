//! Which shifts of the two channels take the measured lag out, and whether the second's polarity is reversed.

use super::certain::Certain;
use super::finite::number;
use super::settings::{Anchor, Match, PlanSettings, PolarityChoice};
use crate::measurement::{Lag, Polarity};

/// Shifts of both channels that take the whole measured lag out, seconds.
pub(super) fn correction(
    certain: &Certain,
    channels: usize,
    anchor: Anchor,
    settings: &PlanSettings,
) -> (f64, f64) {
    let aim = |lag: Option<Lag>| aim_of(lag, settings);
    let gap = gap_of(certain, channels, settings).filter(|_| channels != 1);
    match anchor {
        Anchor::Later => gap.map_or((0.0, 0.0), |gap| (gap.max(0.0), (-gap).max(0.0))),
        Anchor::First => (0.0, -gap.unwrap_or(0.0)),
        Anchor::Second => (gap.unwrap_or(0.0), 0.0),
        Anchor::Spot => {
            let trim = number(settings.spot_trim_s);
            let [to_first, to_second] = certain.to_spot;
            let first = aim(to_first).map(|lag| -(lag + trim));
            let second = aim(to_second).map(|lag| -(lag + trim));
            to_spot(first, second, gap)
        }
    }
}

/// What is taken out between the two, seconds.
fn gap_of(certain: &Certain, channels: usize, settings: &PlanSettings) -> Option<f64> {
    let kit = certain.kit.filter(|_| settings.target == Match::Kit);
    let aim = kit.map(|kit| match flip(certain, channels, settings.polarity) {
        true => kit.turned,
        false => kit.upright,
    });
    aim.map(|aim| number(aim.gap_s))
        .or(aim_of(certain.gap, settings))
}

/// Where one lag is aimed at, seconds. The whole kit has no lag to the spot: the fronts count.
pub(super) fn aim_of(lag: Option<Lag>, settings: &PlanSettings) -> Option<f64> {
    let lag = lag?;
    Some(number(match settings.target {
        Match::Attack | Match::Kit => lag.attack_s,
        Match::Body => lag.body_s,
    }))
}

/// Both channels to the spot; the second follows the first at the directly measured gap.
fn to_spot(first: Option<f64>, second: Option<f64>, gap: Option<f64>) -> (f64, f64) {
    match (first, second, gap) {
        (Some(first), _, Some(gap)) => (first, first - gap),
        (None, Some(second), Some(gap)) => (second + gap, second),
        (first, second, _) => (first.unwrap_or(0.0), second.unwrap_or(0.0)),
    }
}

/// The polarity of the second channel (of a mono main: of the channel) is reversed.
pub(super) fn flip(certain: &Certain, channels: usize, choice: PolarityChoice) -> bool {
    let lag = match channels {
        1 => certain.to_spot[0],
        _ => certain.gap,
    };
    match choice {
        PolarityChoice::AsRecorded => false,
        PolarityChoice::Flipped => true,
        PolarityChoice::AsMeasured => lag.is_some_and(|lag| lag.polarity == Polarity::Inverted),
    }
}
