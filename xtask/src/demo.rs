//! `cargo xtask demo`: a session with a known truth, measured and corrected by the built plugin.
pub mod barn;
pub mod convolve;
pub mod drums;
pub mod groove;
pub mod room;
