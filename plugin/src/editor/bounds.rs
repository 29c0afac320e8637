//! How small, large and magnified a window may be, whatever a saved state says.

use crate::session::WindowState;
use nice_plug::editor::ResizeHint;
use nice_plug::editor::dpi::LogicalSize;
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

/// What a host may resize a window to at a zoom: what the pages are drawn for, magnified.
pub fn limits(zoom: f32) -> ResizeHint {
    between(zoom, zoom)
}

/// What a window may be resized to as long as it is open, whatever its zoom becomes.
pub fn every_zoom() -> ResizeHint {
    between(*ZOOMS.start(), *ZOOMS.end())
}

fn between(least: f32, most: f32) -> ResizeHint {
    ResizeHint::resizable().with_min_max_logical_size(
        Some(LogicalSize::new(
            WIDTHS.start() * least,
            HEIGHTS.start() * least,
        )),
        Some(LogicalSize::new(WIDTHS.end() * most, HEIGHTS.end() * most)),
    )
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
    use nice_plug::editor::dpi::NativeSize;

    #[test]
    fn limits_are_points_at_every_zoom() {
        // Zoom, what a host asks for and what it gets, pixels.
        let table = [
            (1.0, (100, 100), (720, 460)),
            (1.0, (2160, 1380), (1800, 1200)),
            (3.0, (2160, 1380), (2160, 1380)),
            (3.0, (1800, 1200), (2160, 1380)),
            (3.0, (9000, 9000), (5400, 3600)),
            (0.75, (100, 100), (540, 345)),
            (0.75, (1800, 1200), (1350, 900)),
        ];
        for (zoom, (width, height), wanted) in table {
            let [asked, now] = [(width, height), (1080, 680)].map(|(w, h)| NativeSize::new(w, h));
            let given = limits(zoom).adjust_size(asked, now, 1.0);
            assert_eq!((given.width, given.height), wanted, "{zoom}");
        }
    }

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
