//! Everything the window says: sentences, names and phrases.
//!
//! Promises plain text that is the same on screen and for screen readers. Called by views and pages; calls frame and
//! drawing (for numbers).

mod decks;
mod kit;
mod notices;
mod tape;
mod terms;
mod verdict;

pub use decks::{offset_words, readings};
pub use kit::kit_row_words;
pub use notices::notices;
pub use tape::{tape_reference, tape_shares};
pub use terms::{
    FAIRLY_SURE, LagWords, band_name, certainty, correlation_words, distance, first_notch,
    gap_words, hits, lag_caption, last_refused, length, names, not_drawn, other_length,
    polarity_word, rate_and_latency, refused_words,
};
pub use verdict::{TOGETHER_CM, verdict};
