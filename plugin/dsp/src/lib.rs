//! The core of Plumbline: reading a delay line at any fraction, finding arrivals, aligning a pair.
//!
//! Plain mathematics on slices of samples. It knows no host, parameter, window, file, clock or thread.
//! A type's `new` allocates; `process`, `read` and `push` never allocate, lock, wait or fail.

pub mod align;
pub mod analyser;
pub mod bypass;
pub mod comb;
pub mod correlation;
pub mod delay_line;
pub mod fir;
pub mod levels;
pub mod loudness;
pub mod measurement;
pub mod plan;
pub mod ramp;
pub mod read_kernel;
pub mod units;
