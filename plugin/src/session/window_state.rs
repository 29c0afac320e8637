//! How the window was left: its size, zoom and theme; kept with the session.

use serde::{Deserialize, Serialize};

/// The window's colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Theme {
    #[default]
    Light,
    Dark,
}

/// What lengths are shown in first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Lengths {
    #[default]
    Centimetres,
    Inches,
}

/// Where the kit is looked at from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Seat {
    Audience,
    #[default]
    Stool,
}

/// Which hand leads: a left-handed kit is mirrored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Handed {
    #[default]
    Right,
    Left,
}

/// The window as it was left.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct WindowState {
    /// Points.
    pub width: f32,
    /// Points.
    pub height: f32,
    /// Magnification of a point.
    pub zoom: f32,
    /// Saved as `paper`, which sessions already hold.
    #[serde(rename = "paper")]
    pub theme: Theme,
    pub lengths: Lengths,
    pub seat: Seat,
    pub handed: Handed,
}

impl Default for WindowState {
    fn default() -> Self {
        Self {
            width: 1080.0,
            height: 680.0,
            zoom: 1.0,
            theme: Theme::Light,
            lengths: Lengths::Centimetres,
            seat: Seat::Stool,
            handed: Handed::Right,
        }
    }
}
