//! The commands of `cargo xtask`, one file or folder each.
//!
//! A command owns its options, its order of work and what it prints. What two commands need stands in a room below
//! (`audio`, `sheet`, ...): a command may use every one of them, and none of them knows a command.

pub mod tidy;
