//! Stimulus and table of limits, one file a subject.

mod air;
mod align;
mod bound;
mod comb;
mod correlation;
mod delay;
mod flutter_meter;
mod gap;
mod grooves;
mod kit;
mod levels;
mod loudness;
mod measure;
mod measure_new;
mod memory;
mod real_grooves;
mod recordings;
mod scene;
mod strokes;
mod support;
mod sweep;
mod tom;
mod voices;
