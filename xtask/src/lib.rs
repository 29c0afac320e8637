//! The commands of the project, and the rooms they share.

pub mod alignment;
pub mod audio;
pub mod cli;
pub mod commands;
pub mod decks;
pub mod failure;
pub mod manual;
pub mod progress;
pub mod project;
pub mod sheet;
pub mod simulation;
pub mod tape;
#[cfg(target_os = "linux")]
pub mod window_session;
