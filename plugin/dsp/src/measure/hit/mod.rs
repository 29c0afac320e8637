//! One stroke: the window of audio around it, and its bands, levels and shape.
//!
//! Promises: what is read from a stroke depends on its own audio alone, never on the other strokes. Called by `measure`,
//! `pair` and `drums`. Calls `math` and `channels`.

pub(crate) mod filters;
pub(crate) mod stroke;
pub(crate) mod window;
