//! `cargo xtask align` as its user meets it: real recordings, every file format, and everything that can be wrong.

mod bad_input;
mod formats;
mod recordings;
mod support;
mod written;
