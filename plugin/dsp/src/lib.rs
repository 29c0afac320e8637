//! The core of Plumbline: reading a delay line at any fraction, measuring and aligning a pair, moving one deck past another.
//!
//! Plain mathematics on slices of samples. It knows no host, parameter, window, file, clock or thread.
//! A type's `new` allocates; `process`, `read` and `push` never allocate, lock, wait or fail.
//!
//! Four words that everyone uses ([`channels`], [`units`], [`measurement`], [`plan`]) and five rooms. Arrows inside:
//! [`decks`] reads through [`delay`]; every room may use [`math`] and the four words; [`plan`] sees [`measurement`] alone;
//! [`measure`] and [`decks`] never see each other.

pub mod channels;
pub mod decks;
pub mod delay;
pub mod math;
pub mod measure;
pub mod measurement;
pub mod meters;
pub mod plan;
pub mod units;
