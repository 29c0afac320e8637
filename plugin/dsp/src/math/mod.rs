//! Small mathematics that several rooms share: ramps, sines, filters, windows, a correlation at a lag, wide loops.
//!
//! Promises: pure functions and plain state of numbers, no allocation after `new`. Called by every room of the core, and by
//! the shell and the tools where they need the same thing. Calls nothing.

pub mod biquad;
pub mod kaiser;
#[cfg(test)]
pub(crate) mod noise;
pub mod ramp;
pub(crate) mod shifted_dot;
pub mod sine;
pub(crate) mod widest;
