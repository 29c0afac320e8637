//! Meters: what a pair sounds like and how loud it is, as numbers for the window, the tools and the tests.
//!
//! Promises: readings that are always finite; what is called block by block does not allocate after `new`. Called by the
//! shell's window and analysis thread, by the tools and by the tests. Calls `math` and `units`.

pub mod click;
pub mod comb;
pub mod correlation;
pub mod loudness;
pub mod loudness_match;
pub mod mono_sum_loss;
pub mod pair_spectrum;
mod weighted_energy;
