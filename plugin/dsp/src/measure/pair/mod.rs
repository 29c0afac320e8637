//! Two channels: the lag between them from the phase of their cross-spectrum, over one hit or over all hits of a drum.
//!
//! Promises: a pure delay of a fraction of a sample is read within the figures of the measured tests; no allocation after
//! `new`. Called by `drums`; [`cross_spectrum`] is tested by itself against the published bound. Calls `hit` and `math`.

pub(crate) mod body;
pub(crate) mod coarse;
pub mod cross_spectrum;
pub(crate) mod lag;
