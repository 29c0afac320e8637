//! Lines, colours, fonts and numbers: what every view and widget draws with.
//!
//! Promises the contrast of WCAG 2.2 in both themes. Called by widgets, views and pages; calls the toolkit only.

mod canvas;
mod numbers;
mod palette;

pub use canvas::{Canvas, palette, panel};
pub use numbers::{plain, signed};
pub use palette::{apply_theme, digit_font, text_font};
