//! What stands beside an example: a sentence of figures and a drawing, both computed from the file that is heard.
//!
//! Promises: nothing is taken from what the plugin was set to; the example and the one that it is compared with are read as
//! they are packed. Called by the manual's list. Each kind of figure has a file; they may use `sheet` and the core's meters.

mod beside;
mod lag;
mod level;
mod null_points;
mod stroke;

use super::examples::{Example, Figure};
use crate::audio::Sound;

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
