//! `cargo xtask align` as its user meets it: real recordings, every file format, and everything that can be wrong.

mod bad_input;
mod demo;
mod formats;
mod grooves;
mod recordings;
mod support;
mod written;
