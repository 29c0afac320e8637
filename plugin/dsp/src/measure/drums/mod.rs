//! Drums: strokes sorted into them, each with a lasting number, a likely kind and its own lags, and the one that is aligned.
//!
//! Promises: a later stroke never renumbers an earlier one. Called by `measure`. Calls `pair`, `hit` and `math`.

pub(crate) mod choice;
pub(crate) mod kit;
pub(crate) mod lags;
pub(crate) mod naming;
mod sorting;
