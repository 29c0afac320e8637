//! What must not change an answer, and what must change it by a known amount: grooves, real and simulated.
//!
//! Promises each case with what it may change and by how much. Called by `invariance_of_grooves`; calls the takes of the grooves
//! and of the simulated kit.

pub mod stimuli;

use plumbline_dsp::measurement::Polarity;

use crate::measure::{Answer, measure};
use crate::scene::delay;
use crate::support::assert_near;
use crate::take::{Spot, Take};
use stimuli::{Stimulus, stimuli};

/// A change of a take and what becomes of the answer.
pub struct Case {
    pub name: &'static str,
    pub change: fn(Take) -> Take,
    /// Gap after from gap before, samples.
    pub gap: fn(f64) -> f64,
    pub polarity: fn(Polarity) -> Polarity,
    /// Of the gap, samples.
    pub tolerance: f64,
}

/// How exactly a moved channel moves the gap, samples: strokes alone and real grooves stay below 0.02, a simulated groove under hats
/// below a sixth of its spread.
const MOVED: f64 = 0.05;

const LATER: Case = Case {
    name: "second later by 0.37 sample",
    change: |mut take| {
        take.second = delay(&take.second, 0.37);
        take
    },
    gap: |gap| gap + 0.37,
    polarity: |polarity| polarity,
    tolerance: MOVED,
};

const EARLIER: Case = Case {
    name: "first later by 2.5 samples",
    change: |mut take| {
        take.first = delay(&take.first, 2.5);
        take
    },
    gap: |gap| gap - 2.5,
    polarity: |polarity| polarity,
    tolerance: MOVED,
};

const SOFTER: Case = Case {
    name: "everything 20 dB softer",
    change: |take| take.each(|channel| channel.iter().map(|x| 0.1 * x).collect()),
    gap: |gap| gap,
    polarity: |polarity| polarity,
    tolerance: 0.01,
};

const SOFT_SPOT: Case = Case {
    name: "spot 20 dB softer",
    change: |mut take| {
        for spot in [&mut take.kick, &mut take.snare] {
            spot.iter_mut().for_each(|x| *x *= 0.1);
        }
        take
    },
    gap: |gap| gap,
    polarity: |polarity| polarity,
    tolerance: 0.01,
};

const LATE_SPOT: Case = Case {
    name: "spot 5 ms late",
    change: |mut take| {
        let late = (0.005 * take.rate) as usize;
        take.kick.rotate_right(late);
        take.snare.rotate_right(late);
        take
    },
    gap: |gap| gap,
    polarity: |polarity| polarity,
    tolerance: 0.02,
};

/// The answer to a take with one spot.
pub fn heard(take: &Take, spot: Spot) -> Option<Answer> {
    take.tried(measure, spot).answer
}

/// Every stimulus with every spot, changed; all that is outside is told at once.
pub fn held(cases: &[Case]) {
    let mut outside = Vec::new();
    for Stimulus { name, take } in stimuli() {
        for spot in Spot::ALL {
            let before = heard(&take, spot).expect("a verdict");
            for case in cases {
                let after = heard(&(case.change)(take.clone()), spot);
                let what = format!("{name}, spot {spot:?}, {}", case.name);
                outside.extend(differs(&what, case, &before, after.as_ref()));
            }
        }
    }
    assert!(outside.is_empty(), "{}", outside.join("\n"));
}

fn differs(what: &str, case: &Case, before: &Answer, after: Option<&Answer>) -> Option<String> {
    let Some(after) = after else {
        return Some(format!("{what}: no verdict"));
    };
    let error = after.gap_samples - (case.gap)(before.gap_samples);
    let polarity = (case.polarity)(before.polarity);
    let found = format!("{what}: off by {error:.4}, {:?}", after.polarity);
    println!("{found}");
    let right = error.abs() <= case.tolerance && after.polarity == polarity;
    (!right).then(|| format!("{found}; limit {}, {polarity:?}", case.tolerance))
}

#[test]
fn a_known_fraction() {
    held(&[LATER, EARLIER]);
}

#[test]
fn level() {
    held(&[SOFTER, SOFT_SPOT]);
}

#[test]
fn a_late_spot() {
    held(&[LATE_SPOT]);
}

/// A spot that falls silent half way costs nothing but certainty.
#[test]
fn a_spot_that_falls_silent() {
    for Stimulus { name, mut take } in stimuli() {
        let half = take.snare.len() / 2;
        take.snare[half..].fill(0.0);
        let answer = heard(&take, Spot::Snare).expect("a verdict");
        println!("{name}: {answer:?}");
        assert_near(
            name,
            answer.gap_samples,
            take.truth.gap,
            take.truth.tolerance,
        );
        assert_eq!(answer.polarity, take.polarity, "{name}");
    }
}
