//! Whole pages: the header, and for each mode its drawings and controls.
//!
//! Promises that nothing leaves the window from its smallest to its largest size. Called by the window with a `Frame`,
//! gives back `Action`s; calls views, widgets, wording, drawing and frame.

mod align_controls;
mod align_page;
mod columns;
mod content;
mod header;
mod modes;
mod placement_page;
mod presets_page;
mod recall_page;
mod sweep_controls;
mod sweep_page;
mod tabbed_controls;
mod tape_controls;
mod version_buttons;
mod view;

pub use content::{Content, show};
pub use view::View;
