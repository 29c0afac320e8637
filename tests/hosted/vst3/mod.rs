//! A minimal VST3 host: what the hosted tests need to drive the built plugin through its VST3 side.
//!
//! [`host`] loads the library and makes the calls of a host in their order; [`objects`] are the COM objects that a host
//! hands over (handler, parameter changes, stream), and `frame` is what it puts around a window. The other files are tests
//! by subject: a scan in `scan`, parameters and events in `traps`, buses in `buses`, the window while the audio thread plays.
//! Called by the tests of buffers, decks and states and by the random hosts in `fuzz` too; calls the vst3 crate alone.

#![allow(
    clippy::unnecessary_cast,
    reason = "the interface's flags are signed on Windows and unsigned elsewhere"
)]

pub mod buses;
#[cfg(target_os = "linux")]
pub mod frame;
pub mod host;
pub mod objects;
#[cfg(target_os = "linux")]
mod picking;
#[cfg(target_os = "linux")]
mod scale;
mod scan;
mod state_type;
mod told;
mod traps;
#[cfg(target_os = "linux")]
pub mod window;
