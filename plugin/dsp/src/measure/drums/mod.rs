//! Drums: strokes sorted into them, each with a lasting number, a likely kind and its own lags, and the one that is aligned.
//!
//! Promises: a drum keeps its number as long as it keeps most of its strokes; every drum gets the same fit, the chosen one a
//! deeper one. Called by `measure`. Calls `pair`, `hit` and `math`.

pub(crate) mod choice;
pub(crate) mod hit_log;
pub(crate) mod kit;
pub(crate) mod kit_sums;
pub(crate) mod lags;
pub(crate) mod naming;
mod sorting;
pub(crate) mod strays;
