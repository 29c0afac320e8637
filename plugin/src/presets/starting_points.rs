//! The starting points: settings of our own for both modes, each with a sentence on when to use it.

use super::preset::Preset;

/// Id of a parameter and its value, as a preset's file has them.
type Settings = &'static [(&'static str, &'static str)];

/// One starting point. What it does not name stays as it is.
#[derive(Clone, Copy, Debug)]
pub struct StartingPoint {
    pub name: &'static str,
    /// When to use it.
    pub about: &'static str,
    /// What all of its kind begin with; its own settings follow and count more.
    base: Settings,
    own: Settings,
}

impl StartingPoint {
    /// As a preset.
    pub fn preset(&self) -> Preset {
        let mut settings: Vec<(String, String)> = Vec::new();
        for (id, value) in self.base.iter().chain(self.own) {
            settings.retain(|(known, _)| known != id);
            settings.push(((*id).to_owned(), (*value).to_owned()));
        }
        Preset {
            name: self.name.to_owned(),
            about: self.about.to_owned(),
            settings,
        }
    }

    /// It is one of the Sweep mode.
    pub fn is_sweep(&self) -> bool {
        self.base == SWEEP
    }
}

/// The pair is corrected in full, on the attack, without a tape behind it.
const ALIGN: Settings = &[
    ("mode", "Align"),
    ("correct", "On"),
    ("amount", "100"),
    ("anchor", "Later"),
    ("match", "Attack"),
    ("reach", "0"),
    ("spot_level", "off"),
    ("print", "Off"),
];

/// Both decks alike and together, in time with the song, without a tape before them.
const SWEEP: Settings = &[
    ("mode", "Sweep"),
    ("engage", "On"),
    ("motion", "Hand"),
    ("offset", "0"),
    ("range", "3"),
    ("sync", "On"),
    ("length", "4 bars"),
    ("rate", "0.1"),
    ("curve", "Sine"),
    ("ease", "0"),
    ("drag", "0"),
    ("width", "100"),
    ("blend", "50"),
    ("flip", "Off"),
    ("wow", "0"),
    ("flutter", "0"),
    ("print", "Off"),
];

const fn align(name: &'static str, about: &'static str, own: Settings) -> StartingPoint {
    StartingPoint {
        name,
        about,
        base: ALIGN,
        own,
    }
}

const fn sweep(name: &'static str, about: &'static str, own: Settings) -> StartingPoint {
    StartingPoint {
        name,
        about,
        base: SWEEP,
        own,
    }
}

/// All of them, those of Align first.
pub const STARTING_POINTS: [StartingPoint; 20] = [
    align(
        "Snare together",
        "The usual beginning: the snare's first wavefront reaches both sides at once.",
        &[],
    ),
    align(
        "Snare with body",
        "When the snare is tight but thin in mono: the sum is fullest over the shell's first 40 ms.",
        &[("match", "Body")],
    ),
    align(
        "Whole kit in mono",
        "For a mix that will be heard in mono: the sum of all drums loses least.",
        &[("match", "Kit")],
    ),
    align(
        "Half the way",
        "For a spaced pair whose width you like: half of the gap goes, the room stays.",
        &[("amount", "50")],
    ),
    align(
        "First overhead stays",
        "When the first overhead is in time with other tracks already: only the second moves.",
        &[("anchor", "First"), ("reach", "5")],
    ),
    align(
        "Pair to the spot",
        "When the close microphone leads the mix: both overheads come to it.",
        &[("anchor", "Spot"), ("reach", "12")],
    ),
    align(
        "Three into two",
        "Two overheads and a kick leave as two tracks, the kick in time and 6 dB down.",
        &[("spot_level", "-6")],
    ),
    align(
        "Printed, moderate",
        "A pair that wants its peaks rounded: a touch over the reference at 38 cm/s.",
        &[
            ("print", "On"),
            ("tape_level", "3"),
            ("tape_speed", "38 cm/s"),
            ("tape_eq", "IEC"),
            ("hiss", "off"),
        ],
    ),
    align(
        "Printed slow and hot",
        "Drums that may be thick and dark: 9 dB over the reference at 19 cm/s.",
        &[
            ("print", "On"),
            ("tape_level", "9"),
            ("tape_speed", "19 cm/s"),
            ("tape_eq", "IEC"),
            ("hiss", "off"),
        ],
    ),
    sweep(
        "On the first beat",
        "One pass with its null point on the first beat of a chorus: type the bar.",
        &[("motion", "Pass"), ("curve", "Reel")],
    ),
    sweep(
        "Long way to the bar",
        "A build-up of eight bars: the comb comes in softly and clears on the bar that you type.",
        &[
            ("motion", "Pass"),
            ("length", "8 bars"),
            ("range", "6"),
            ("ease", "2"),
        ],
    ),
    sweep(
        "Turnaround",
        "One bar before a new part: a short pass, there and gone.",
        &[
            ("motion", "Pass"),
            ("length", "1 bar"),
            ("range", "2"),
            ("ease", "0.25"),
        ],
    ),
    sweep(
        "Silent null point",
        "A stop in the arrangement: the print thins out, is gone on the beat, and comes back.",
        &[
            ("motion", "Pass"),
            ("length", "2 bars"),
            ("flip", "On"),
            ("ease", "0.5"),
        ],
    ),
    sweep(
        "Slow breath",
        "Behind a whole verse: to and fro in eight bars, never far from the null point.",
        &[("motion", "Cycle"), ("length", "8 bars"), ("range", "1.5")],
    ),
    sweep(
        "Restless, free of the bar",
        "Where the song has no grid: a cycle of twelve seconds, the moving deck behind.",
        &[
            ("motion", "Cycle"),
            ("sync", "Off"),
            ("rate", "0.08"),
            ("range", "2"),
            ("blend", "35"),
        ],
    ),
    sweep(
        "Short and deep",
        "An effect to be noticed: a cycle a bar at even speed, far to both sides.",
        &[
            ("motion", "Cycle"),
            ("length", "1 bar"),
            ("range", "5"),
            ("curve", "Triangle"),
        ],
    ),
    sweep(
        "Sides that part",
        "Overheads alone with headphones in mind: the two sides run against each other.",
        &[("motion", "Cycle"), ("range", "2"), ("width", "-100")],
    ),
    sweep(
        "Hand on the flange",
        "To be played: brake one deck through the null point, then the other.",
        &[("motion", "Drag"), ("range", "8")],
    ),
    sweep(
        "Two machines, one take",
        "A thicker print without a sweep: a second machine 8 ms late and not quite steady.",
        &[
            ("offset", "8"),
            ("blend", "40"),
            ("wow", "0.08"),
            ("flutter", "0.04"),
        ],
    ),
    sweep(
        "Off two hot reels",
        "The chorus of a record made on tape: printed 6 dB over, then one pass of both decks.",
        &[
            ("motion", "Pass"),
            ("curve", "Reel"),
            ("ease", "1"),
            ("print", "On"),
            ("tape_level", "6"),
            ("tape_speed", "38 cm/s"),
            ("tape_eq", "IEC"),
            ("hiss", "off"),
        ],
    ),
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::params::PlumblineParams;
    use crate::presets::resolve;
    use std::collections::HashSet;

    #[test]
    fn every_starting_point_can_be_called_up() {
        let params = PlumblineParams::untouched();
        let mut names = HashSet::new();
        for start in STARTING_POINTS {
            let resolved = resolve(&start.preset(), &params);
            assert!(
                resolved.is_ok(),
                "{}: {}",
                start.name,
                resolved.unwrap_err()
            );
            assert!(names.insert(start.name), "{} twice", start.name);
            assert!(
                start.about.ends_with('.') && start.about.len() < 120,
                "{}",
                start.about
            );
        }
    }
}
