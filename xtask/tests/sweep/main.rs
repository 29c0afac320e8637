//! `cargo xtask sweep` as its user meets it: null points on their bar, prints against the closed form, refusals.

mod course;
mod print;
mod refused;
mod support;
