//! What stands beside an example: a sentence of figures and a drawing, both computed from the file that is heard.
//!
//! Promises: nothing is taken from what the plugin was set to; the example and the one that it is compared with are read as
//! they are packed. Called by the manual's list. Each kind of figure has a file; they may use `sheet` and the core's meters.

mod lag;
mod level;
mod null_points;
mod stroke;

use super::examples::{Example, Figure};
use crate::audio::Sound;
use crate::sheet::{Mark, Series};

/// Said of the example that a group's others stand beside.
const COMPARED_WITH: &str = "what the others are compared with";

/// What is said and drawn.
pub struct Facts {
    /// "−4.1 dB at 6.8 kHz", in the words of its figure.
    pub said: String,
    /// Inline SVG.
    pub drawing: String,
    /// Loudness of the file, LKFS.
    pub loudness_lkfs: f64,
    /// Largest sample of the file, dBFS.
    pub peak_dbfs: f64,
}

/// Of one example beside another.
pub fn of(example: &Example, sound: &Sound, other: &Sound) -> Facts {
    let (said, drawing) = match example.figure {
        Figure::Level => level::figure(example, sound, other),
        Figure::Lag => lag::figure(example, sound, other),
        Figure::NullPoints => null_points::figure(example, sound, other),
        Figure::Stroke => stroke::figure(example, sound, other),
    };
    Facts {
        said,
        drawing,
        loudness_lkfs: sound.loudness_lkfs(),
        peak_dbfs: 20.0 * f64::from(sound.peak()).log10(),
    }
}

/// The curves of an example and of the one that it stands beside.
fn beside(example: &Example, this: Vec<(f64, f64)>, other: Vec<(f64, f64)>) -> [Series; 2] {
    let accent = Series {
        name: "this file".to_owned(),
        mark: Mark::Accent,
        points: this,
    };
    let line = Series {
        name: example.against.to_owned(),
        mark: Mark::Line,
        points: other,
    };
    [accent, line]
}
