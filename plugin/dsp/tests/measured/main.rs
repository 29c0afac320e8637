//! Stimulus and table of limits, one file a subject.

mod support;

mod air;
mod align;
mod comb;
mod correlation;
mod delay;
mod flutter_meter;
mod levels;
mod loudness;
mod sweep;
