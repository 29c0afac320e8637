//! Audio buffers as hosts hand them over: null, short, left out, in place, too long.
//!
//! One file for each format, each with the same cases where the formats agree; [`pointers`] has the buffers themselves and
//! the kinds of side chain that hosts are known to pass. Calls the library and the VST3 host beside this folder.

pub mod clap;
pub mod pointers;
mod vst3;
