//! The plan's closed cases: every anchor, amount, nudge, polarity, and numbers that are none.

use super::*;
use crate::measurement::{KitAim, KitMatch, Lag, Measurement, Polarity};

const MS: f64 = 0.001;

fn lag(attack_ms: f64, body_ms: f64, polarity: Polarity) -> Option<Lag> {
    Some(Lag {
        attack_s: attack_ms * MS,
        body_s: body_ms * MS,
        polarity,
        confidence: 1.0,
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

#[test]
fn the_kit_is_matched_by_its_own_gap_and_the_spot_by_the_fronts() {
    let aim = |gap_ms: f64| KitAim {
        gap_s: gap_ms * MS,
        loss_db: -1.0,
    };
    let measurement = Measurement {
        kit: Some(KitMatch {
            upright: aim(0.7),
            turned: aim(-0.5),
            recorded_db: -4.0,
        }),
        ..second_later()
    };
    let kit = PlanSettings {
        target: Match::Kit,
        ..settings(Anchor::Later, 0.0)
    };
    // The second is measured reversed.
    assert_plan("turned", plan(&measurement, 2, &kit), 0.0, 0.5, 0.0);
    let recorded = PlanSettings {
        polarity: PolarityChoice::AsRecorded,
        ..kit
    };
    assert_plan("upright", plan(&measurement, 2, &recorded), 0.7, 0.0, 0.0);
    let unknown = Measurement {
        kit: None,
        ..measurement
    };
    assert_plan("no kit heard", plan(&unknown, 2, &kit), 1.1, 0.0, 0.0);
    let reach = PlanSettings {
        reach_s: 9.0 * MS,
        ..kit
    };
    assert_plan("mono", plan(&measurement, 1, &reach), -4.0, 0.0, 0.0);
}

/// A kit of which everything was measured, the pair's gap and the spot's lags this likely.
fn as_sure_as(pair: f64, spot: f64) -> Measurement {
    let aim = KitAim {
        gap_s: 0.7 * MS,
        loss_db: -1.0,
    };
    let with = |lag: Option<Lag>, confidence| lag.map(|lag| Lag { confidence, ..lag });
    let sure = second_later();
    Measurement {
        gap: with(sure.gap, pair),
        spot_to_first: with(sure.spot_to_first, spot),
        spot_to_second: with(sure.spot_to_second, spot),
        kit: Some(KitMatch {
            upright: aim,
            turned: aim,
            recorded_db: -4.0,
        }),
        ..sure
    }
}

#[test]
fn what_is_too_unsure_is_not_applied() {
    let base = settings(Anchor::Later, 0.0);
    let with = |target| PlanSettings { target, ..base };
    let any = PlanSettings {
        least_confidence: 0.0,
        ..base
    };
    // Probability, settings: first, and whether the second is reversed.
    let table = [
        (0.0, with(Match::Attack), 0.0, false),
        (0.19, with(Match::Attack), 0.0, false),
        (0.19, with(Match::Body), 0.0, false),
        (0.19, with(Match::Kit), 0.0, false),
        (0.2, with(Match::Attack), 1.1, true),
        (0.2, with(Match::Kit), 0.7, true),
        (1.0, with(Match::Attack), 1.1, true),
        (0.0, any, 1.1, true),
    ];
    for (confidence, settings, first_ms, flip) in table {
        let name = format!("confidence {confidence}, {:?}", settings.target);
        let got = plan(&as_sure_as(confidence, 1.0), 2, &settings);
        assert_plan(&name, got, first_ms, 0.0, 0.0);
        assert_eq!(got.flip, flip, "{name}");
    }
    let by_hand = PlanSettings {
        polarity: PolarityChoice::Flipped,
        ..base
    };
    assert!(plan(&as_sure_as(0.0, 0.0), 2, &by_hand).flip, "by hand");
}

#[test]
fn a_spot_whose_lags_are_too_unsure_stays_as_recorded() {
    let base = settings(Anchor::Later, 0.0);
    let reversed = Measurement {
        spot_to_first: lag(4.0, 4.2, Polarity::Inverted),
        ..as_sure_as(1.0, 0.19)
    };
    // The first's lag alone is sure: its time and its polarity count.
    let got = plan(&reversed, 2, &base).spot;
    assert!((got.shift_s / MS - 5.1).abs() < 1e-9, "{got:?}");
    assert!(got.flip && got.timing == SpotTiming::InTime, "{got:?}");
    let unsure = plan(&as_sure_as(1.0, 0.19), 2, &base).spot;
    assert_eq!(unsure.timing, SpotTiming::NotMeasured);
    assert!(!unsure.flip && unsure.shift_s == 0.0, "{unsure:?}");
    let mono = plan(&as_sure_as(1.0, 0.19), 1, &settings(Anchor::Spot, 9.0));
    assert_plan("mono", mono, 0.0, 0.0, 0.0);
    assert!(!mono.flip);
}
