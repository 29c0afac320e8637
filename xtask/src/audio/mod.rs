//! Audio files: reading and writing them block by block, and the files of one take side by side.
//!
//! Promises: constant memory whatever the length; what cannot be worked with is refused in words that say what to do; no
//! file is replaced unasked. Called by everything that touches a file. Uses nothing but the way commands fail.

mod decoder;
mod long_wave;
mod reader;
mod sound;
mod source;
mod take;
mod wave_chunks;
mod wave_file;
mod writer;

pub use reader::AudioReader;
pub use sound::Sound;
pub use take::{BLOCK, Overheads, Take, TakeBlock, TakeFiles, stem};
pub use wave_file::WaveForm;
pub use writer::{AudioWriter, Existing, claim};
