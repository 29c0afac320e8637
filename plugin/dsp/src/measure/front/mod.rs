//! The front of the measurement: channels brought to a working rate, the last moments of them kept, strokes found as they pass.
//!
//! Promises: a fixed cost a sample, no allocation after `new`. Called by `measure` alone. Calls `math` and
//! `channels`. Knows nothing of drums.

pub(crate) mod finder;
pub(crate) mod history;
pub(crate) mod working_rate;
