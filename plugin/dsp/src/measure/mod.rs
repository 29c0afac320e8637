//! From a stream of audio to a measurement: strokes are found, sorted into drums, and each drum fitted.
//!
//! Measures the time between two overheads on a drum that may have no microphone of its own, and says how sure it is.
//! Promises: no allocation after `new`; the same audio gives the same measurement however it is cut into blocks. Called by
//! the shell's analysis thread and by the tools. Calls `math` and `channels`; never `decks`. Inside, each folder sees those
//! before it alone: `front`, `hit`, `pair`, `drums`, and [`Analyser`] drives them.

mod analyser;
pub mod drum_sum;
mod drums;
mod front;
mod hit;
pub mod lag_curve;
mod pair;

pub use analyser::{Analyser, AnalyserSetup};
pub use drums::choice::DrumChoice;
pub use pair::honesty::Evidence;
