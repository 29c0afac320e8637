//! The commands of `cargo xtask`, one file or folder each.
//!
//! A command owns its options, its order of work and what it prints. What two commands need stands in a room below
//! (`audio`, `alignment`, `decks`, `sheet`, ...): a command may use every one of them, and none of them knows a command.
//! No command uses another, except that `test` runs `tidy`.

pub mod align;
pub mod bundle;
pub mod demo;
pub mod dist;
pub mod figures;
pub mod fuzz;
pub mod manual;
#[cfg(target_os = "linux")]
pub mod preview;
#[cfg(target_os = "linux")]
pub mod screens;
pub mod soak;
pub mod sweep;
mod tape_options;
pub mod test;
pub mod tidy;
mod typed;
