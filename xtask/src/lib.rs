//! Commands of the project, one file each, and what they share.

pub mod audio_reader;
pub mod audio_writer;
pub mod demo;
pub mod failure;
pub mod hit_spectrum;
pub mod hit_windows;
pub mod take;
