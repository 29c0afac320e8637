//! The arrows that are allowed: between the rooms of each crate, and between the crates.
//!
//! A table has one row for each room, from the bottom to the top: the room, a colon, the rooms it may use. A row may name
//! only rooms of the rows above it, and `*` means all rooms. A room is a folder or a file of the crate's `src`; where
//! rooms lie in each other the smallest one counts, and naming a folder means all that is in it.

/// This file, for messages.
pub const TABLES: &str = "xtask/src/commands/tidy/arrows.rs";

/// A crate whose imports are read.
pub struct Crate {
    /// Where its `lib.rs` is.
    pub folder: &'static str,
    /// Its table; empty: circles alone are looked for.
    pub rooms: &'static str,
}

/// The crates, the lowest first.
pub const CRATES: [Crate; 4] = [
    Crate {
        folder: "plugin/dsp/src",
        rooms: CORE,
    },
    Crate {
        folder: "plugin/src",
        rooms: SHELL,
    },
    Crate {
        folder: "tests/src",
        rooms: HOSTING,
    },
    Crate {
        folder: "xtask/src",
        rooms: COMMANDS,
    },
];

const CORE: &str = "
channels:
units:
math:
measurement: units
drum_names: measurement
plan: measurement units
meters: math channels units
delay: math channels units plan
decks: delay math channels units
print: delay math channels units
measure/front: math channels units
measure/lag_curve:
measure/drum_sum: measurement
measure/hit: math channels units
measure/pair: measure/hit measure/lag_curve measure/drum_sum measurement math channels units
measure/drums: measure/pair measure/hit measure/drum_sum measurement math channels units
measure: measure/drums measure/lag_curve measure/drum_sum measure/pair measure/hit measure/front measurement math channels units
lib:
";

const SHELL: &str = "
exchange:
session: exchange
analysis: exchange
params: session exchange
presets: params
editor: presets params session exchange
audio: analysis params exchange
instance: audio analysis editor params session exchange
guard: instance presets params
lib: guard instance
";

const HOSTING: &str = "";

const COMMANDS: &str = "
failure:
progress:
project: failure
audio: failure
simulation:
tape:
window_session: failure simulation
alignment: failure progress audio tape
decks: failure progress audio
sheet: failure audio tape alignment decks
manual: failure progress project audio simulation alignment decks sheet
commands/typed:
commands/tape_options: failure commands/typed
commands/bundle: failure project
commands/preview: failure project window_session
commands/screens: failure project window_session
commands/align: failure project audio tape alignment sheet commands/typed commands/tape_options
commands/sweep: failure project audio tape decks sheet commands/typed commands/tape_options
commands/demo: failure progress project audio tape simulation alignment decks sheet
commands/manual: failure manual
commands/dist: failure project manual
commands/figures: failure project sheet
commands/fuzz: failure project
commands/soak: failure project
commands/tidy: failure project manual
commands/test: failure project commands/tidy
commands:
cli: failure commands
lib:
main:
";

/// A crate of ours and what it may need.
pub struct Package {
    /// As in its Cargo.toml.
    pub name: &'static str,
    /// Of our own crates, for running, building and testing.
    pub may_use: &'static [&'static str],
    /// Of other people's crates, for running.
    pub foreign: Foreign,
}

/// What a crate may need of other people's crates in order to run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Foreign {
    /// What it likes.
    Any,
    /// These and no others.
    Only(&'static [&'static str]),
}

impl Foreign {
    /// True where the crate may not be needed.
    pub fn forbids(self, name: &str) -> bool {
        match self {
            Self::Any => false,
            Self::Only(allowed) => !allowed.contains(&name),
        }
    }
}

/// The crates of the workspace, the lowest first.
pub const PACKAGES: [Package; 4] = [
    Package {
        name: "plumbline-dsp",
        may_use: &[],
        foreign: Foreign::Only(&["realfft"]),
    },
    Package {
        name: "plumbline",
        may_use: &["plumbline-dsp"],
        foreign: Foreign::Any,
    },
    Package {
        name: "plumbline-hosting",
        may_use: &["plumbline-dsp", "plumbline"],
        foreign: Foreign::Any,
    },
    Package {
        name: "xtask",
        may_use: &["plumbline-dsp", "plumbline", "plumbline-hosting"],
        foreign: Foreign::Any,
    },
];
