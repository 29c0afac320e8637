//! Audio files: reading and writing them block by block, and the files of one take side by side.
//!
//! Promises: constant memory whatever the length; what cannot be worked with is refused in words that say what to do; no
//! file is replaced unasked. Called by everything that touches a file. Uses nothing but the way commands fail.

mod reader;
mod take;
mod writer;

pub use reader::AudioReader;
pub use take::{BLOCK, Overheads, Take, TakeBlock, TakeFiles, stem};
pub use writer::{AudioWriter, Existing, claim};
