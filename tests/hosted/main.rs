//! The plugin as a host sees it: one test a trap, named for it.

mod audio;
mod lifecycle;
mod signal;
