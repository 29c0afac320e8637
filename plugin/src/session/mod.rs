//! What a saved session keeps beside the parameters: the measurement, and how the window was left.
//!
//! Promises to read older and newer versions and to survive damage. Called by the parameters, which the host saves and
//! loads, and by the editor; calls the exchange only.

mod measurement_store;
mod newer_state;
mod picked_drum;
mod saved_drawing;
mod saved_kit;
mod saved_measurement;
mod take_notes;
mod window_state;

pub use measurement_store::MeasurementStore;
pub use newer_state::NewerState;
#[cfg(feature = "editor")]
pub use take_notes::{Line, Overhead, TakeNotes};
pub use window_state::WindowState;
#[cfg(feature = "editor")]
pub use window_state::{Handed, Lengths, Seat, Theme};
