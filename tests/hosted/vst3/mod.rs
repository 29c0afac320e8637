//! A minimal VST3 host: what the hosted tests need to drive the built plugin through its VST3 side.
//!
//! [`host`] loads the library and makes the calls of a host in their order; [`objects`] are the COM objects that a host
//! hands over (handler, parameter changes, stream). Called by the tests of buffers and decks; calls the vst3 crate alone.

pub mod host;
pub mod objects;
