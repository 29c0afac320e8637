//! Numbers that are finite whatever comes in.

/// Zero for what is no number.
pub(super) fn number(x: f64) -> f64 {
    if x.is_finite() { x } else { 0.0 }
}
