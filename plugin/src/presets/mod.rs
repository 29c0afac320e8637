//! Settings that are called up by name: the starting points, and presets in files of the user's own.
//!
//! Promises that a preset touches nothing of the take: neither its measurement nor the picked drum, the target or the window.
//! Called by the window and by the guard, for the hosts' preset browsers; calls the parameters.

mod preset;
mod settings;
mod starting_points;
mod text;

pub use preset::Preset;
#[cfg(feature = "editor")]
pub use settings::held;
pub use settings::resolve;
pub use starting_points::{STARTING_POINTS, StartingPoint};
pub use text::read;
#[cfg(feature = "editor")]
pub use text::{ENDING, write};
