//! Lines, colours, fonts and numbers: what every view and widget draws with.
//!
//! Promises the contrast of WCAG 2.2 in both themes. Called by widgets, views and pages; calls the toolkit only.
//! Knows no frame and no parameter.

mod accessible;
mod canvas;
mod numbers;
mod palette;

pub use accessible::describe;
pub use canvas::{Canvas, control_box, palette, panel};
pub use numbers::{hertz, plain, short_hertz, signed};
pub use palette::{apply_theme, digit_font, text_font};
