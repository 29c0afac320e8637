//! How small, large and magnified a window may be, whatever a saved state says.

use crate::session::WindowState;
use std::ops::RangeInclusive;
use std::sync::{PoisonError, RwLock};

/// Widths that the pages are drawn for, points.
pub const WIDTHS: RangeInclusive<f32> = 720.0..=1800.0;
/// Heights that the pages are drawn for, points.
pub const HEIGHTS: RangeInclusive<f32> = 460.0..=1200.0;
/// Magnifications of a point.
pub const ZOOMS: RangeInclusive<f32> = 0.75..=3.0;

/// A window as it was left, within what can be shown.
pub fn usable(saved: &RwLock<WindowState>) -> WindowState {
    within(*saved.read().unwrap_or_else(PoisonError::into_inner))
}

fn within(state: WindowState) -> WindowState {
    let usual = WindowState::default();
    WindowState {
        width: clamp(state.width, WIDTHS, usual.width),
        height: clamp(state.height, HEIGHTS, usual.height),
        zoom: clamp(state.zoom, ZOOMS, usual.zoom),
        ..state
    }
}

fn clamp(x: f32, range: RangeInclusive<f32>, usual: f32) -> f32 {
    match x.is_finite() {
        true => x.clamp(*range.start(), *range.end()),
        false => usual,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::Theme;

    #[test]
    fn damage_becomes_a_window_that_can_be_used() {
        let saved = r#"{"width": 1e30, "height": -4, "zoom": 0, "paper": "dark", "lamp": 3}"#;
        let state: WindowState = serde_json::from_str(saved).unwrap();
        let usable = WindowState {
            width: 1800.0,
            height: 460.0,
            zoom: 0.75,
            theme: Theme::Dark,
            ..WindowState::default()
        };
        assert_eq!(within(state), usable);
        let nothing: WindowState = serde_json::from_str("{}").unwrap();
        assert_eq!(nothing, WindowState::default());
    }
}
