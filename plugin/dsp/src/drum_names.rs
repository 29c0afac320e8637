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
            Self::ChannelsOwn => "channels_own",
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

/// "the snare", and "tom 2" as it is: what has a number needs no article.
pub fn with_article(name: &str) -> String {
    match is_numbered(name) {
        true => name.to_owned(),
        false => format!("the {name}"),
    }
}

fn is_numbered(name: &str) -> bool {
    name.ends_with(|letter: char| letter.is_ascii_digit())
}

/// Why the drum that is aligned is the one, as a sentence without its capital and full stop.
#[derive(Clone, Copy, Debug)]
pub struct Reason<'a>(pub &'a Measurement);

impl Reason<'_> {
    /// With its capital and full stop.
    pub fn sentence(&self) -> String {
        self.sentence_with(&|drum| drum_name(drum, self.0.drums()).to_string())
    }

    /// The same with the drums called as somebody else calls them.
    pub fn sentence_with(&self, name: &dyn Fn(&Drum) -> String) -> String {
        let words = words(self.0, name);
        let mut letters = words.chars();
        let first = letters.next().map(|first| first.to_uppercase());
        let first: String = first.into_iter().flatten().collect();
        format!("{first}{}.", letters.as_str())
    }
}

impl Display for Reason<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let Self(measurement) = self;
        f.write_str(&words(measurement, &|drum| {
            drum_name(drum, measurement.drums()).to_string()
        }))
    }
}

fn words(measurement: &Measurement, name: &dyn Fn(&Drum) -> String) -> String {
    let Some(chosen) = measurement.chosen() else {
        return "no drum heard yet".to_owned();
    };
    let chosen_name = with_article(&name(chosen));
    match measurement.why {
        Why::NothingHeard => "no drum heard yet".to_owned(),
        Why::Asked => format!("asked for: aligned on {chosen_name}"),
        Why::AskedNotHeard => {
            format!("what was asked for is not heard: aligned on {chosen_name}")
        }
        Why::SpotsOwn => format!("the spot stands at {chosen_name}: aligned on it"),
        Why::ChannelsOwn => format!("the channel stands at {chosen_name}: aligned on it"),
        Why::MostHits => {
            format!("no snare heard: aligned on {chosen_name}, which has the most hits")
        }
        Why::Snare => snare(measurement, chosen, name),
    }
}

fn snare(measurement: &Measurement, chosen: &Drum, name: &dyn Fn(&Drum) -> String) -> String {
    let other = measurement
        .spots_own()
        .filter(|own| own.number != chosen.number);
    let chosen = with_article(&name(chosen));
    match other.map(name) {
        Some(own) => {
            let of_the_spot = match is_numbered(&own) {
                true => format!("{own}'s"),
                false => format!("a {own}'s"),
            };
            let own = with_article(&own);
            format!("the spot is {of_the_spot}: aligned on {chosen}, {own}'s own gap below")
        }
        None if measurement.spot_heard => {
            format!("the spot hears no drum best: aligned on {chosen}")
        }
        None => format!("no spot: aligned on {chosen}"),
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
            (
                own(Some(1), true),
                "the spot is tom 2's: aligned on the snare, tom 2's own gap below",
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
