//! Commands of the project, one file each, and what they share.

pub mod align;
pub mod audio_reader;
pub mod audio_writer;
pub mod bundle;
pub mod cli;
pub mod correct;
pub mod demo;
pub mod failure;
pub mod found;
pub mod hit_spectrum;
pub mod hit_windows;
pub mod measure;
pub mod progress;
pub mod recall;
pub mod sheet;
pub mod sweep;
pub mod take;
pub mod test;
pub mod tidy;
pub mod verdict;
pub mod workspace;
