//! A simulated session with a known truth: a kit in a room, image sources, four microphones, four bars.
//!
//! Promises: the same samples on every machine, and the distances that a tape measure would give. Called by `demo`, by the
//! live window and by tests. Plain mathematics: uses no other room.

pub mod barn;
mod convolve;
mod drums;
pub mod groove;
mod room;
