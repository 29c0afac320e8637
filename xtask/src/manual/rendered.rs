//! A rendered example, and what all of them have in common.

use super::examples::Example;
use super::facts::Facts;
use crate::audio::Sound;

/// The document, from the project's folder on.
pub const DOCUMENT: &str = "docs/manual.md";
/// Loudness of every example, LKFS (ITU-R BS.1770-4): as loud as leaves room for a drum's peaks.
pub const LOUDNESS_LKFS: f64 = -24.0;
/// Seconds of an example.
pub const LENGTH_S: f64 = 10.0;

/// An example that can be heard, and what is said of it.
pub struct Rendered {
    pub example: &'static Example,
    pub sound: Sound,
    pub facts: Facts,
}
