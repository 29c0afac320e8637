//! The strokes of one drum: aligned among themselves, stacked and whitened, and the lag between two channels fitted.
//!
//! Promises: strokes in, one answer with its errors out; no allocation after `new`. Reading order: [`fit`] drives the rest;
//! [`timing`] has when each stroke was, [`stacks`] and [`cymbals`] what is common to all, [`whitening`] and [`onsets`] where
//! a front may be, [`pairs`] and [`vote`] which two belong together, [`close_up`] how far apart to a fraction of a sample, [`spread`] and [`honesty`] how sure that is.
//! Called by `drums`. Calls `hit` and `math`.

mod attack_timing;
pub(crate) mod body_lag;
mod body_timing;
mod centres;
mod close_up;
mod colour;
pub(crate) mod curve;
mod cut;
mod cymbals;
mod filtering;
pub(crate) mod fit;
pub(crate) mod honesty;
mod middle;
pub(crate) mod mono_sum;
mod onsets;
mod pairs;
mod polish;
mod rows;
mod spread;
mod stack;
pub(crate) mod stacks;
mod stroke_lags;
pub(crate) mod timing;
mod variants;
mod vote;
mod whitening;
