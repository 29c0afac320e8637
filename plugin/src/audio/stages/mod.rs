//! The stages of the audio path: what each mode consists of, and all of them in a row.
//!
//! A stage is one file; `modes` names it. Called by the processor, and by the instance for the latency; calls the
//! parameters, the exchange and the core.

mod align;
mod decks;
mod modes;
mod path;
mod print;
mod stage;

pub use path::{Path, latency};
pub use stage::Controls;
