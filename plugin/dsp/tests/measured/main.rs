//! Stimulus and table of limits, one file a subject.

mod air;
mod align;
mod bound;
mod comb;
mod correlation;
mod decks;
mod delay;
mod gap;
mod grooves;
mod kit;
mod loudness;
mod measure;
mod memory;
mod mono_sum_loss;
mod noise;
mod real_grooves;
mod recordings;
mod scene;
mod strokes;
mod support;
mod tom;
mod voices;
