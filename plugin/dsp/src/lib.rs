//! The core of Plumbline: reading a delay line at any fraction, finding arrivals, aligning a pair.
//!
//! Plain mathematics on slices of samples. It knows no host, parameter, window, file, clock or thread.
//! A type's `new` allocates; `process`, `read` and `push` never allocate, lock, wait or fail.

pub mod align;
pub mod analyser;
mod arrivals;
mod biquad;
mod body;
pub mod bypass;
pub mod comb;
pub mod correlation;
pub mod delay_estimator;
pub mod delay_line;
pub mod fir;
mod geometry;
mod history;
mod hits;
pub mod lag_curve;
pub mod levels;
pub mod loudness;
pub mod measure_new;
pub mod measurement;
mod median;
mod overlay;
pub mod pair_spectrum;
mod picks;
pub mod plan;
pub mod ramp;
pub mod read_kernel;
mod roster;
mod sine;
mod sound;
mod stack;
pub mod sweep;
mod take;
pub mod tape;
pub mod units;
mod voices;
mod wavefronts;
mod working_rate;
