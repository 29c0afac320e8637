//! The plugin as a host sees it: one test a trap, named for it.

mod bare_host;
mod buffers;
mod cost;
mod decks;
mod library;
mod lifecycle;
mod measuring;
#[cfg(target_os = "linux")]
mod own_process;
mod side_chain;
mod signal;
mod simulated_take;
mod vst3;
#[cfg(target_os = "linux")]
mod window;
