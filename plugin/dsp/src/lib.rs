//! The core of Plumbline: reading a delay line at any fraction, measuring and aligning a pair, moving one deck past another.
//!
//! Plain mathematics on slices of samples. It knows no host, parameter, window, file, clock or thread.
//! A type's `new` allocates; `process`, `read` and `push` never allocate, lock, wait or fail.
//!
//! Words that everyone uses ([`channels`], [`units`], [`measurement`], [`drum_names`], [`plan`]) and six rooms. Arrows inside:
//! [`decks`] and [`print`] read through [`delay`]; every room may use [`math`] and the words; [`plan`] sees [`measurement`] alone;
//! [`measure`] and [`decks`] never see each other.

pub mod channels;
pub mod decks;
pub mod delay;
pub mod drum_names;
pub mod math;
pub mod measure;
pub mod measurement;
pub mod meters;
pub mod plan;
pub mod print;
pub mod units;
