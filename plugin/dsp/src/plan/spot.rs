//! Where the spot goes in the print: to its own arrival in the corrected overheads, in their polarity.

use crate::measurement::Polarity;
use std::ops::RangeInclusive;

/// What became of the spot's time.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub enum SpotTiming {
    /// As recorded: the correction is off, or the main is mono and is itself moved to the spot.
    #[default]
    AsRecorded,
    /// As recorded: no lag to the overheads was measured.
    NotMeasured,
    /// Arrives with its own arrival in the overheads.
    InTime,
    /// Would have to come earlier than the reach allows: comes as early as it can.
    Late {
        /// By which it is still late, seconds.
        by_s: f64,
    },
}

/// How the spot is moved into the pair.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct SpotPlan {
    /// Shift of the spot, seconds, positive later; never earlier than the reach allows.
    pub shift_s: f64,
    /// The spot's polarity is reversed.
    pub flip: bool,
    /// What became of its time.
    pub timing: SpotTiming,
}

/// One overhead as the correction leaves it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CorrectedOverhead {
    /// Where the spot's drum arrives in it, after the spot, seconds; `None` where that was not measured.
    pub arrival_s: Option<f64>,
    /// How it stands against the spot as recorded.
    pub polarity: Polarity,
    /// Its polarity is reversed.
    pub flip: bool,
}

/// Puts the spot with the overheads, within the shifts that can be had, seconds.
///
/// Its drum is in general not the one that is aligned, and then arrives in the two overheads at two times: the spot goes
/// to the middle between them, so that neither side is farther off than half of what is left.
pub fn spot_plan(overheads: &[CorrectedOverhead; 2], shifts_s: RangeInclusive<f64>) -> SpotPlan {
    let arrivals = overheads.each_ref().map(|overhead| overhead.arrival_s);
    let Some(wanted_s) = middle(arrivals) else {
        return SpotPlan {
            timing: SpotTiming::NotMeasured,
            ..SpotPlan::default()
        };
    };
    let shift_s = wanted_s.clamp(*shifts_s.start(), *shifts_s.end());
    SpotPlan {
        shift_s,
        flip: is_reversed(overheads),
        timing: timing(shift_s - wanted_s),
    }
}

/// The middle of two, or the one there is.
fn middle(arrivals: [Option<f64>; 2]) -> Option<f64> {
    match arrivals {
        [Some(first), Some(second)] => Some(0.5 * (first + second)),
        [first, second] => first.or(second),
    }
}

/// Against the first as it leaves, or, where that is undecided, against the second.
fn is_reversed(overheads: &[CorrectedOverhead; 2]) -> bool {
    let decided = |overhead: &CorrectedOverhead| match overhead.polarity {
        Polarity::Same => Some(overhead.flip),
        Polarity::Inverted => Some(!overhead.flip),
        Polarity::Undecided => None,
    };
    overheads.iter().find_map(decided).unwrap_or(false)
}

fn timing(late_s: f64) -> SpotTiming {
    match late_s > 0.0 {
        true => SpotTiming::Late { by_s: late_s },
        false => SpotTiming::InTime,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::{Lag, Measurement};
    use crate::plan::{Anchor, Match, Plan, PlanSettings, PolarityChoice, plan};

    const MS: f64 = 0.001;

    fn lag(attack_ms: f64, polarity: Polarity) -> Option<Lag> {
        Some(Lag {
            attack_s: attack_ms * MS,
            body_s: (attack_ms + 0.4) * MS,
            polarity,
            confidence: 1.0,
            ..Lag::default()
        })
    }

    /// The second is 1 ms later and reversed; the spot's drum is heard 4 ms after the spot by the first.
    fn kit(first_ms: f64, second_ms: f64) -> Measurement {
        Measurement {
            hits: 4,
            gap: lag(1.0, Polarity::Inverted),
            spot_to_first: lag(first_ms, Polarity::Same),
            spot_to_second: lag(second_ms, Polarity::Inverted),
            ..Measurement::default()
        }
    }

    fn spot(measurement: &Measurement, settings: PlanSettings) -> SpotPlan {
        plan(measurement, 2, &settings).spot
    }

    fn with_anchor(anchor: Anchor, reach_ms: f64) -> PlanSettings {
        PlanSettings {
            anchor,
            reach_s: reach_ms * MS,
            ..PlanSettings::default()
        }
    }

    #[track_caller]
    fn assert_shift(case: &str, spot: SpotPlan, shift_ms: f64, late_ms: f64) {
        let late_s = match spot.timing {
            SpotTiming::Late { by_s } => by_s,
            _ => 0.0,
        };
        for (got, want) in [(spot.shift_s / MS, shift_ms), (late_s / MS, late_ms)] {
            assert!(
                (got - want).abs() < 1e-9,
                "{case}: {spot:?} instead of {shift_ms} ms, late by {late_ms} ms"
            );
        }
    }

    #[test]
    fn goes_where_its_drum_is_in_the_corrected_overheads() {
        use Anchor::*;
        // anchor, reach, spot to first, spot to second: shift, late. All ms. The later overhead is at 5 ms.
        let table = [
            (Later, 0.0, [4.0, 5.0], [5.0, 0.0]),
            (First, 9.0, [4.0, 5.0], [4.0, 0.0]),
            (Second, 9.0, [4.0, 5.0], [5.0, 0.0]),
            (Spot, 9.0, [4.0, 5.0], [0.0, 0.0]),
            (Spot, 3.0, [4.0, 5.0], [2.0, 0.0]),
            // A drum with a gap of its own, 0.6 ms instead of 1: the middle of what is left.
            (Later, 0.0, [4.0, 4.6], [4.8, 0.0]),
            // The spot is late: a host that compensates wrongly.
            (Later, 0.0, [-4.0, -3.0], [0.0, 3.0]),
            (Later, 2.0, [-4.0, -3.0], [-2.0, 1.0]),
        ];
        for (anchor, reach, [first, second], [shift, late]) in table {
            let case = format!("{anchor:?}, reach {reach} ms, lags {first} and {second} ms");
            let got = spot(&kit(first, second), with_anchor(anchor, reach));
            assert_shift(&case, got, shift, late);
            assert!(!got.flip, "{case}");
        }
    }

    #[test]
    fn trim_nudge_target_and_amount() {
        let kit = kit(4.0, 5.0);
        let base = PlanSettings::default();
        let trimmed = PlanSettings {
            spot_trim_s: -1.5 * MS,
            ..base
        };
        assert_shift("trim", spot(&kit, trimmed), 3.5, 0.0);
        let nudged = PlanSettings {
            nudge_first_s: 0.2 * MS,
            nudge_second_s: 0.2 * MS,
            ..base
        };
        assert_shift("nudge", spot(&kit, nudged), 5.2, 0.0);
        let body = PlanSettings {
            target: Match::Body,
            ..base
        };
        // The pair's body gap is 1.4 ms: first at 4.4 + 1.4, second at 5.4.
        assert_shift("body", spot(&kit, body), 5.6, 0.0);
        let half = PlanSettings {
            amount: 0.5,
            ..base
        };
        assert_shift("half", spot(&kit, half), 4.75, 0.0);
    }

    #[test]
    fn stands_the_way_the_corrected_overheads_stand() {
        use Polarity::*;
        use PolarityChoice::*;
        // first, second, choice for the second: the spot's polarity is reversed.
        let table = [
            (Same, Inverted, AsMeasured, false),
            (Inverted, Same, AsMeasured, true),
            (Undecided, Inverted, AsMeasured, false),
            (Undecided, Same, AsMeasured, true),
            (Undecided, Same, AsRecorded, false),
            (Undecided, Undecided, AsMeasured, false),
        ];
        for (first, second, polarity, want) in table {
            let measurement = Measurement {
                spot_to_first: lag(4.0, first),
                spot_to_second: lag(5.0, second),
                ..kit(4.0, 5.0)
            };
            let settings = PlanSettings {
                polarity,
                ..PlanSettings::default()
            };
            let got = spot(&measurement, settings).flip;
            assert_eq!(got, want, "{first:?} {second:?} {polarity:?}");
        }
    }

    #[test]
    fn one_lag_is_enough_and_without_one_it_stays() {
        let settings = PlanSettings::default();
        let second_alone = Measurement {
            spot_to_first: None,
            ..kit(4.0, 5.0)
        };
        assert_shift("second alone", spot(&second_alone, settings), 5.0, 0.0);
        let neither = Measurement {
            spot_to_second: None,
            ..second_alone
        };
        let got = spot(&neither, settings);
        assert_shift("neither", got, 0.0, 0.0);
        assert_eq!(got.timing, SpotTiming::NotMeasured);
    }

    #[test]
    fn off_and_mono_leave_it_as_recorded() {
        let off = PlanSettings {
            correct: false,
            ..PlanSettings::default()
        };
        assert_eq!(spot(&kit(4.0, 5.0), off), SpotPlan::default());
        let Plan { spot, .. } = plan(&kit(4.0, 5.0), 1, &PlanSettings::default());
        assert_eq!(spot.timing, SpotTiming::AsRecorded);
    }
}
