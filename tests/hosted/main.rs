//! The plugin as a host sees it: one test a trap, named for it.

mod audio;
mod bare_host;
mod buffers_clap;
mod buffers_vst3;
mod clap_events;
mod clap_traps;
#[cfg(target_os = "linux")]
mod clap_window;
mod cost;
mod decks;
mod decks_clicks;
mod decks_reader;
mod decks_song;
mod fuzz;
mod lifecycle;
mod measuring;
mod pointers;
mod rig;
mod signal;
#[cfg(target_os = "linux")]
mod stage;
mod states;
mod take;
#[cfg(target_os = "linux")]
mod vst3_frame;
mod vst3_host;
mod vst3_objects;
mod vst3_traps;
#[cfg(target_os = "linux")]
mod vst3_window;
#[cfg(target_os = "linux")]
mod window;
