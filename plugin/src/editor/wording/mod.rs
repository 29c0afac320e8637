//! Everything the window says: sentences, names and phrases.
//!
//! Promises plain text that is the same on screen and for screen readers. Called by views and pages; calls frame and
//! drawing (for numbers).

mod decks;
mod notices;
mod terms;
mod verdict;

pub use decks::{offset_words, readings};
pub use notices::notices;
pub use terms::{
    band_name, certainty, first_null, hits, last_refused, names, not_drawn, polarity_word,
    rate_and_latency, refused_words,
};
pub use verdict::{TOGETHER_CM, verdict};
