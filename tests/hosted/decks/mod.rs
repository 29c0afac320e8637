//! The Sweep mode in a host of either format: one test holds for CLAP and VST3.
//!
//! [`instance`] is the test rig of all of them: an instance of either format, a probe tone whose phase is the moving deck's
//! offset, and measures of difference. The other files are tests by subject: offsets, clicks, the reader, the song's time.

mod clicks;
pub mod instance;
mod null_at;
mod offsets;
mod reader;
mod song;
