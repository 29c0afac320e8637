//! Every parameter the host sees, and what the core makes of its value.
//!
//! Promises that ids stay: they are in saved sessions. Called by the audio, the editor, the instance and the guard; calls
//! the session (for what is saved beside the parameters) and the core's settings.

mod align_choices;
mod plumbline_params;
mod preset_scope;
mod print_choices;
mod print_params;
mod saved_params;
mod sweep_choices;
mod sweep_params;
mod units;

#[cfg(feature = "editor")]
pub use align_choices::{Anchor, Drum};
pub use align_choices::{Mode, Monitor};
pub use plumbline_params::{LOWEST_SPOT_DB, PlumblineParams};
pub use preset_scope::may_hold;
#[cfg(feature = "editor")]
pub use print_params::LOWEST_HISS_DB;
pub use saved_params::{Purpose, complete, load_for};
pub use sweep_params::SweepParams;
pub use units::off_db;
#[cfg(feature = "editor")]
pub use units::{FIRST_BAR, bar_text};
