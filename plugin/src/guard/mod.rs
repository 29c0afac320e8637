//! Stands between the host and the framework: whatever buffers a host hands over, the framework gets whole ones.
//!
//! A side chain that is not connected arrives as null pointers, as a bus of too few channels or not at all; all three
//! are allowed or common, and the framework reads past or through them. Here they become silence.

mod buffers;
mod clap;
mod exclusive;
#[cfg(all(feature = "editor", target_os = "linux"))]
mod graphics;
mod parameters;
mod vst3;
