//! A preset: a name, a sentence on when to use it, and the settings it holds, as they are written.

use std::fmt;

/// Settings by the ids of their parameters.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Preset {
    pub name: String,
    /// When to use it; may be empty.
    pub about: String,
    /// Id and value, each as it is written in a file.
    pub settings: Vec<(String, String)>,
}

/// Why a preset cannot be used.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum PresetError {
    /// The text does not begin as a preset does.
    NoPreset,
    /// Written by a newer version: the number of its format.
    Newer(u32),
    /// A line that is no setting.
    Line(usize),
    /// No parameter has this id.
    Unknown(String),
    /// The parameter of this id is the take's, the song's or the ear's.
    NotHeld(String),
    /// The parameter of the first cannot have the second.
    Value(String, String),
}

impl fmt::Display for PresetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoPreset => write!(f, "this is no preset of Plumbline's"),
            Self::Newer(format) => {
                write!(
                    f,
                    "a newer version of Plumbline has written this preset (format {format})"
                )
            }
            Self::Line(number) => write!(f, "line {number} is no setting such as range = 3"),
            Self::Unknown(id) => write!(f, "there is no control called {id}"),
            Self::NotHeld(id) => write!(
                f,
                "{id} belongs to the take or to the ear: no preset sets it"
            ),
            Self::Value(id, value) => write!(f, "{id} cannot be {value}"),
        }
    }
}

impl std::error::Error for PresetError {}
