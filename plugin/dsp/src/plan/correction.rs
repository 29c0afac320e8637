//! Which shifts of the two channels take the measured lag out, and whether the second's polarity is reversed.

use super::finite::number;
use super::settings::{Anchor, Match, PlanSettings, PolarityChoice};
use crate::measurement::{Lag, Measurement, Polarity};

/// Shifts of both channels that take the whole measured lag out, seconds.
pub(super) fn correction(
    measurement: &Measurement,
    channels: usize,
    anchor: Anchor,
    settings: &PlanSettings,
) -> (f64, f64) {
    let aim = |lag: Option<Lag>| aim_of(lag, settings);
    let gap = gap_of(measurement, channels, settings).filter(|_| channels != 1);
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

/// What is taken out between the two, seconds.
fn gap_of(measurement: &Measurement, channels: usize, settings: &PlanSettings) -> Option<f64> {
    let kit = measurement.kit.filter(|_| settings.target == Match::Kit);
    let aim = kit.map(|kit| match flip(measurement, channels, settings.polarity) {
        true => kit.turned,
        false => kit.upright,
    });
    aim.map(|aim| number(aim.gap_s))
        .or(aim_of(measurement.gap, settings))
}

/// Where one lag is aimed at, seconds; nothing where it is too unsure. The whole kit has no lag to the spot: the fronts count.
pub(super) fn aim_of(lag: Option<Lag>, settings: &PlanSettings) -> Option<f64> {
    let sure = lag.filter(|lag| lag.confidence >= settings.least_confidence)?;
    Some(number(match settings.target {
        Match::Attack | Match::Kit => sure.attack_s,
        Match::Body => sure.body_s,
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
pub(super) fn flip(measurement: &Measurement, channels: usize, choice: PolarityChoice) -> bool {
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
