//! Measures the time between two overheads on a drum that may have no microphone of its own, and says how sure it is.

pub mod analyser;
mod attack_timing;
mod body_timing;
mod centres;
mod colour;
mod cut;
mod cymbals;
mod filters;
mod finder;
mod fit;
pub mod measurement;
mod naming;
mod onsets;
mod pairs;
mod rows;
mod sorting;
mod stack;
mod stroke;
mod timing;
mod whitening;
mod window;
