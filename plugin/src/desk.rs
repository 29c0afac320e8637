//! How the window was left: its size, zoom and sheet; kept with the session.

use serde::{Deserialize, Serialize};

/// The paper that is drawn on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    #[default]
    Light,
    Dark,
}

/// The window as it was left.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Desk {
    /// Points.
    pub width: f32,
    /// Points.
    pub height: f32,
    /// Magnification of a point.
    pub zoom: f32,
    pub paper: Paper,
}

impl Default for Desk {
    fn default() -> Self {
        Self {
            width: 1080.0,
            height: 680.0,
            zoom: 1.0,
            paper: Paper::Light,
        }
    }
}
