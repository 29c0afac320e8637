//! The mechanics of two decks: reels that are braked and let go, and the wow and flutter of one of them.

pub mod transport;
pub mod wobble;
