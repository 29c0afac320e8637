//! Commands of the project, one file each, and what they share.

pub mod audio_reader;
pub mod audio_writer;
pub mod bundle;
pub mod cli;
pub mod demo;
pub mod failure;
pub mod found;
pub mod hit_spectrum;
pub mod hit_windows;
pub mod sheet;
pub mod take;
pub mod test;
pub mod tidy;
pub mod verdict;
pub mod workspace;
