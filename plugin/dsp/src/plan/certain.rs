//! What of a measurement is sure enough to be applied: the one place that holds it against the least probability.

use crate::measurement::{KitMatch, Lag, Measurement};

/// What the plan is made of; nothing where it is less likely right than the engineer asks for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Certain {
    /// Second minus first on the drum that is aligned.
    pub gap: Option<Lag>,
    /// How far first and second are behind the spot on the drum that is aligned.
    pub to_spot: [Option<Lag>; 2],
    /// The same on the drum that the spot stands at; where there is none, on the aligned one.
    pub spots_own: [Option<Lag>; 2],
    /// The compromise for the whole kit. It goes with the gap: what is too unsure to be taken out moves nothing.
    pub kit: Option<KitMatch>,
}

impl Certain {
    /// `least_confidence` is that of [`super::PlanSettings`].
    pub(super) fn new(measurement: &Measurement, least_confidence: f64) -> Self {
        let sure = |lag: Option<Lag>| lag.filter(|lag| lag.confidence >= least_confidence);
        let gap = sure(measurement.gap);
        Self {
            gap,
            to_spot: [measurement.spot_to_first, measurement.spot_to_second].map(sure),
            spots_own: spots_own_lags(measurement).map(sure),
            kit: measurement.kit.filter(|_| gap.is_some()),
        }
    }
}

fn spots_own_lags(measurement: &Measurement) -> [Option<Lag>; 2] {
    let own = measurement.spots_own();
    let own = own.map(|drum| [drum.spot_to_first, drum.spot_to_second]);
    let heard = own.filter(|lags| lags.iter().any(Option::is_some));
    heard.unwrap_or([measurement.spot_to_first, measurement.spot_to_second])
}
