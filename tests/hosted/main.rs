//! The plugin as a host sees it: one test a trap, named for it.

mod audio;
mod buffers_clap;
mod buffers_vst3;
mod cost;
mod decks;
mod lifecycle;
mod measuring;
mod signal;
mod take;
mod vst3_host;
mod vst3_objects;
