//! Stimulus and table of limits, one file a subject.

mod air;
mod align;
mod baselines;
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
mod memory;
mod no_snare_microphone;
mod real_grooves;
mod recordings;
mod scene;
mod score;
mod strokes;
mod support;
mod sweep;
mod take;
mod tom;
mod voices;
