//! The channels of one instance: what is connected, and the order of three of them wherever they stand side by side.

/// First, second, spot: the order of every array with one element a channel.
pub const CHANNELS: usize = 3;
/// Index of the first main channel.
pub const FIRST: usize = 0;
/// Index of the second main channel.
pub const SECOND: usize = 1;
/// Index of the spot.
pub const SPOT: usize = 2;

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inputs {
    /// Two overheads, no spot.
    Pair,
    /// Two overheads and a spot.
    PairAndSpot,
    /// One channel and a spot.
    MonoAndSpot,
}
