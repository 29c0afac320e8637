//! The verdict in plain words: which microphone to move and how far, polarity, how sure, what is missing.

use plumbline_dsp::measurement::{Lag, Polarity, Refused};
use plumbline_dsp::plan::{LEAST_CONFIDENCE, Match};

use super::names::refused_counts;
use super::spot_measurement::SpotMeasurement;
use super::units::Units;

/// Differences below this are left alone, cm: the sum's first notch then lies above 16 kHz.
const TOGETHER_CM: f64 = 1.0;
/// Gaps above this were probably meant, seconds: half a metre.
const INTENDED_S: f64 = 0.0015;
/// From this confidence on the verdict says "sure".
const SURE: f64 = 0.8;
/// From this one on it says "fairly sure".
const FAIRLY_SURE: f64 = 0.5;

/// The sentences, most important first.
pub fn verdict(measurement: &SpotMeasurement, target: Match, units: &Units) -> Vec<String> {
    let Some(gap) = &measurement.gap else {
        return vec!["No hit was counted.".to_owned()];
    };
    let mut sentences = vec![distance(gap, &measurement.chosen_name(), units)];
    sentences.extend(body(gap, target, units));
    sentences.push(polarity(gap));
    sentences.push(measurement.reason());
    sentences.push(confidence(gap, measurement.hits, units));
    sentences.extend(refused(&measurement.refused));
    sentences.extend(intended(gap));
    sentences.extend(reach(measurement.missing_reach_s));
    sentences
}

fn distance(gap: &Lag, drum: &str, units: &Units) -> String {
    let (cm, inches) = (
        units.cm(gap.attack_s).abs(),
        units.inches(gap.attack_s).abs(),
    );
    if gap.confidence < LEAST_CONFIDENCE {
        return format!(
            "Where {drum} stands between the overheads is too unsure to be corrected: nothing is delayed, and nothing in \
             its polarity is changed. Measure more strokes."
        );
    }
    if cm < TOGETHER_CM {
        return format!(
            "Both overheads hear {drum} together: their distances agree within {cm:.1} cm ({inches:.1} in). \
             Leave the stands where they are."
        );
    }
    if gap.confidence < FAIRLY_SURE {
        return format!(
            "The second overhead seems to hear {drum} {} than the first, but that is not sure: leave the stands where \
             they are, and measure more strokes.",
            if gap.attack_s > 0.0 {
                "later"
            } else {
                "earlier"
            }
        );
    }
    let (later, earlier) = if gap.attack_s > 0.0 {
        ("second", "first")
    } else {
        ("first", "second")
    };
    format!(
        "The {later} overhead hears {drum} {:.3} ms after the {earlier}: it is {cm:.1} cm ({inches:.1} in) farther \
         away. Move the {later} {cm:.1} cm closer, or hold the {earlier} back by that much.",
        gap.attack_s.abs() * 1e3
    )
}

fn body(gap: &Lag, target: Match, units: &Units) -> Option<String> {
    let apart = units.cm(gap.body_s - gap.attack_s);
    (apart.abs() >= TOGETHER_CM || target == Match::Body).then(|| {
        format!(
            "Its body sums fullest at a gap of {:+.1} cm instead of the attack's {:+.1} cm.",
            units.cm(gap.body_s),
            units.cm(gap.attack_s)
        )
    })
}

fn polarity(gap: &Lag) -> String {
    match gap.polarity {
        Polarity::Inverted if gap.confidence < LEAST_CONFIDENCE => {
            "The second seems to have reversed polarity: look for a reversed cable or a polarity switch."
        }
        Polarity::Same => "Both have the same polarity.",
        Polarity::Inverted => {
            "The second's polarity is reversed against the first: look for a reversed cable or a polarity switch. The \
             correction mends it."
        }
        Polarity::Undecided => {
            "Polarity could not be decided: the hits do not agree. Listen to the mono sum both ways; nothing is \
             reversed by itself."
        }
    }
    .to_owned()
}

fn confidence(gap: &Lag, hits: u32, units: &Units) -> String {
    let how = match gap.confidence {
        confidence if confidence >= SURE => "Sure",
        confidence if confidence >= FAIRLY_SURE => "Fairly sure",
        _ => "Not sure",
    };
    match hits {
        1 => format!("{how}, from one hit alone."),
        _ => format!(
            "{how}: {hits} hits put it within ±{:.2} samples (±{:.2} cm).",
            units.samples(gap.spread_s),
            units.cm(gap.spread_s)
        ),
    }
}

fn refused(refused: &Refused) -> Option<String> {
    refused_counts(refused).map(|words| format!("Not used: {words}."))
}

fn intended(gap: &Lag) -> Option<String> {
    (gap.attack_s.abs() > INTENDED_S).then(|| {
        "That is more than half a metre: the placement may have been meant, or another drum was measured. Read the \
         table of drums before you correct it."
            .to_owned()
    })
}

fn reach(missing_s: f64) -> Option<String> {
    (missing_s > 0.0).then(|| {
        format!(
            "The anchor asks for {:.2} ms more reach than there is: what fits was applied. Give it more reach, or \
             choose the later overhead as the anchor.",
            missing_s * 1e3
        )
    })
}

#[cfg(test)]
mod tests {
    use plumbline_dsp::measurement::{Drum, DrumKind, Why};

    use super::*;

    const UNITS: Units = Units {
        sample_rate: 48_000.0,
        temperature_c: 20.0,
    };

    fn measurement(attack_s: f64, polarity: Polarity) -> SpotMeasurement {
        let gap = Lag {
            attack_s,
            body_s: attack_s,
            spread_s: 4e-6,
            polarity,
            polarity_odds: 0.99,
            confidence: 0.9,
        };
        let snare = Drum {
            kind: DrumKind::Snare,
            gap: Some(gap),
            hits: 9,
            ..Drum::default()
        };
        SpotMeasurement {
            drums: vec![snare],
            chosen: Some(0),
            why: Why::Snare,
            hits: 9,
            gap: Some(gap),
            ..SpotMeasurement::default()
        }
    }

    fn words(measurement: &SpotMeasurement) -> String {
        verdict(measurement, Match::Attack, &UNITS).join(" ")
    }

    #[test]
    fn the_later_microphone_is_the_one_to_move() {
        // 10 cm at 20 °C take 291.36 µs.
        let later = words(&measurement(291.36e-6, Polarity::Same));
        assert!(
            later.starts_with("The second overhead hears the snare 0.291 ms after the first"),
            "{later}"
        );
        assert!(
            later.contains("10.0 cm (3.9 in) farther away. Move the second 10.0 cm closer"),
            "{later}"
        );
        assert!(later.contains("No spot: aligned on the snare."), "{later}");
        let earlier = words(&measurement(-291.36e-6, Polarity::Same));
        assert!(
            earlier.starts_with("The first overhead hears the snare"),
            "{earlier}"
        );
    }

    #[test]
    fn a_small_gap_moves_nobody() {
        assert!(words(&measurement(20e-6, Polarity::Same)).contains("Leave the stands"));
    }

    #[test]
    fn a_reversed_cable_is_said_and_an_open_question_stays_open() {
        assert!(words(&measurement(0.0, Polarity::Inverted)).contains("reversed cable"));
        assert!(words(&measurement(0.0, Polarity::Undecided)).contains("could not be decided"));
    }

    #[test]
    fn what_is_not_applied_is_not_said_to_be() {
        let mut unsure = measurement(291.36e-6, Polarity::Inverted);
        unsure.gap.as_mut().unwrap().confidence = 0.19;
        let text = words(&unsure);
        assert!(text.contains("nothing is delayed"), "{text}");
        assert!(text.contains("reversed cable"), "{text}");
        for order in ["closer", "The correction"] {
            assert!(!text.contains(order), "{order:?} is in {text:?}");
        }
    }

    #[test]
    fn missing_reach_and_refused_hits_are_named() {
        let mut measurement = measurement(2e-3, Polarity::Same);
        measurement.missing_reach_s = 0.0015;
        measurement.refused.clipped = 2;
        let text = words(&measurement);
        for part in ["1.50 ms more reach", "Not used: 2 clipped.", "half a metre"] {
            assert!(text.contains(part), "{part:?} is not in {text:?}");
        }
    }
}
