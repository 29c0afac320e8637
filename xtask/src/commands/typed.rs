//! Values of options as they are typed: paths, and numbers within a range.

use std::path::{Path, PathBuf};

/// Building the plugin changes the current folder: paths must not depend on it.
pub fn absolute(path: &Path) -> PathBuf {
    std::path::absolute(path).unwrap_or_else(|_| path.to_owned())
}

/// A typed number within a range.
///
/// # Errors
///
/// In words that name the range.
pub fn number(text: &str, range: std::ops::RangeInclusive<f64>, what: &str) -> Result<f64, String> {
    let value: f64 = text
        .trim()
        .parse()
        .map_err(|_| format!("{text:?} is not a number"))?;
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(format!("{what} is {} to {}", range.start(), range.end()))
    }
}

/// The same in per cent; the sign may be typed.
///
/// # Errors
///
/// As [`number`].
pub fn per_cent(
    text: &str,
    range: std::ops::RangeInclusive<f64>,
    what: &str,
) -> Result<f64, String> {
    number(text.trim_end_matches('%'), range, what)
}
