//! One hit: the window of audio around it, its features, and the onsets picked in each channel.
//!
//! Promises: what is found in a hit depends on its own audio and on where it is looked for, never on the other hits. Called
//! by `measure`, `pair` and `drums`. Calls `math` and `channels`.

pub(crate) mod features;
pub(crate) mod kept;
pub(crate) mod onset;
pub(crate) mod picks;
pub(crate) mod window;
