//! What drums are called, and why the one that is aligned was chosen, in plain words.

use std::fmt::{Display, Formatter, Result};

use crate::measurement::{Drum, DrumKind, Measurement, Why};

impl DrumKind {
    /// One word; "drum" where the kind is not known.
    pub fn word(self) -> &'static str {
        match self {
            Self::Snare => "snare",
            Self::Kick => "kick",
            Self::Tom => "tom",
            Self::Cymbal => "cymbal",
            Self::Other => "drum",
        }
    }
}

impl Why {
    /// One word, as a saved session has it.
    pub fn word(self) -> &'static str {
        match self {
            Self::NothingHeard => "nothing_heard",
            Self::Asked => "asked",
            Self::AskedNotHeard => "asked_not_heard",
            Self::SpotsOwn => "spots_own",
            Self::Snare => "snare",
            Self::MostHits => "most_hits",
        }
    }
}

/// A drum's kind, with a running number when two are alike: "snare", "tom 2".
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrumName {
    /// What it is.
    pub kind: DrumKind,
    /// From 1 on, in the order in which the drums were first heard; `None` where it is the only one of its kind.
    pub running: Option<u8>,
}

impl Display for DrumName {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let word = self.kind.word();
        match self.running {
            Some(running) => write!(f, "{word} {running}"),
            None => f.write_str(word),
        }
    }
}

/// The name of one of a take's drums.
pub fn drum_name(drum: &Drum, drums: &[Drum]) -> DrumName {
    let alike = || drums.iter().filter(|other| other.kind == drum.kind);
    let earlier = alike().filter(|other| other.number <= drum.number);
    DrumName {
        kind: drum.kind,
        running: (alike().count() > 1).then(|| earlier.count() as u8),
    }
}

/// Why the drum that is aligned is the one, as a sentence without its capital and full stop.
#[derive(Clone, Copy, Debug)]
pub struct Reason<'a>(pub &'a Measurement);

impl Reason<'_> {
    /// With its capital and full stop.
    pub fn sentence(&self) -> String {
        let words = self.to_string();
        let mut letters = words.chars();
        let first = letters.next().map(|first| first.to_uppercase());
        let first: String = first.into_iter().flatten().collect();
        format!("{first}{}.", letters.as_str())
    }
}

impl Display for Reason<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let Self(measurement) = self;
        let Some(chosen) = measurement.chosen() else {
            return f.write_str("no drum heard yet");
        };
        let name = drum_name(chosen, measurement.drums());
        match measurement.why {
            Why::NothingHeard => f.write_str("no drum heard yet"),
            Why::Asked => write!(f, "asked for: aligned on the {name}"),
            Why::AskedNotHeard => {
                write!(f, "what was asked for is not heard: aligned on the {name}")
            }
            Why::SpotsOwn => write!(f, "the spot stands at the {name}: aligned on it"),
            Why::MostHits => write!(
                f,
                "no snare heard: aligned on the {name}, which has the most hits"
            ),
            Why::Snare => snare(f, measurement, chosen, name),
        }
    }
}

fn snare(
    f: &mut Formatter<'_>,
    measurement: &Measurement,
    chosen: &Drum,
    name: DrumName,
) -> Result {
    let other = measurement
        .spots_own()
        .filter(|own| own.number != chosen.number);
    match other {
        Some(own) => {
            let own = drum_name(own, measurement.drums());
            write!(
                f,
                "the spot is a {own}'s: aligned on the {name}, the {own}'s own gap below"
            )
        }
        None if measurement.spot_heard => {
            write!(f, "the spot hears no drum best: aligned on the {name}")
        }
        None => write!(f, "no spot: aligned on the {name}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drum(number: u8, kind: DrumKind) -> Drum {
        Drum {
            number,
            kind,
            ..Drum::default()
        }
    }

    fn kit() -> Measurement {
        let mut measurement = Measurement {
            drum_count: 4,
            chosen: Some(0),
            why: Why::Snare,
            ..Measurement::default()
        };
        let drums = [
            (3, DrumKind::Snare),
            (1, DrumKind::Tom),
            (0, DrumKind::Tom),
            (2, DrumKind::Kick),
        ];
        for (place, (number, kind)) in measurement.drums.iter_mut().zip(drums) {
            *place = drum(number, kind);
        }
        measurement
    }

    #[test]
    fn alike_drums_are_numbered_in_the_order_they_were_heard() {
        let kit = kit();
        let names: Vec<String> = kit
            .drums()
            .iter()
            .map(|d| drum_name(d, kit.drums()).to_string())
            .collect();
        assert_eq!(names, ["snare", "tom 2", "tom 1", "kick"]);
    }

    #[test]
    fn every_reason_is_said() {
        let own = |spots_own, spot_heard| Measurement {
            spots_own,
            spot_heard,
            ..kit()
        };
        let why = |why| Measurement { why, ..kit() };
        let cases = [
            (Measurement::default(), "no drum heard yet"),
            (own(None, false), "no spot: aligned on the snare"),
            (
                own(None, true),
                "the spot hears no drum best: aligned on the snare",
            ),
            (
                own(Some(3), true),
                "the spot is a kick's: aligned on the snare, the kick's own gap below",
            ),
            (why(Why::Asked), "asked for: aligned on the snare"),
            (
                why(Why::SpotsOwn),
                "the spot stands at the snare: aligned on it",
            ),
        ];
        for (measurement, words) in cases {
            assert_eq!(Reason(&measurement).to_string(), words);
        }
    }
}
