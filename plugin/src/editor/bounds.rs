//! How small, large and magnified a window may be, whatever a saved state says.

use crate::desk::Desk;
use std::ops::RangeInclusive;

/// Widths that the pages are drawn for, points.
pub const WIDTHS: RangeInclusive<f32> = 720.0..=1800.0;
/// Heights that the pages are drawn for, points.
pub const HEIGHTS: RangeInclusive<f32> = 460.0..=1200.0;
/// Magnifications of a point.
pub const ZOOMS: RangeInclusive<f32> = 0.75..=3.0;

/// The same within what can be shown.
pub fn within(desk: Desk) -> Desk {
    let usual = Desk::default();
    Desk {
        width: clamp(desk.width, WIDTHS, usual.width),
        height: clamp(desk.height, HEIGHTS, usual.height),
        zoom: clamp(desk.zoom, ZOOMS, usual.zoom),
        paper: desk.paper,
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
    use crate::desk::Paper;

    #[test]
    fn damage_becomes_a_window_that_can_be_used() {
        let saved = r#"{"width": 1e30, "height": -4, "zoom": 0, "paper": "dark", "lamp": 3}"#;
        let desk: Desk = serde_json::from_str(saved).unwrap();
        let usable = Desk {
            width: 1800.0,
            height: 460.0,
            zoom: 0.75,
            paper: Paper::Dark,
        };
        assert_eq!(within(desk), usable);
        let nothing: Desk = serde_json::from_str("{}").unwrap();
        assert_eq!(nothing, Desk::default());
    }
}
