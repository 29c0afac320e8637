//! The kit map in words: one sentence a drum.

use super::terms::{certainty, distance, hits, length, polarity_word};
use crate::editor::drawing::plain;
use crate::editor::frame::{Air, KitRow};

/// "snare, 12 hits, gap +3.4 cm ± 0.1 cm, sure, polarity same, mono sum −5.1 dB, after −0.4 dB; aligned".
pub fn kit_row_words(row: &KitRow, air: &Air) -> String {
    let mut words = format!("{}, {}", row.name, hits(row.hits));
    words += &match &row.lag {
        Some(lag) => format!(
            ", gap {} ± {}, {}, polarity {}",
            length(air, lag.attack_s),
            distance(air, lag.spread_s),
            certainty(lag.confidence),
            polarity_word(lag.polarity)
        ),
        None => ", gap not known".to_owned(),
    };
    if let Some(loss) = row.loss {
        words += &format!(
            ", mono sum {} dB, after {} dB",
            plain(loss.before_db, 1),
            plain(loss.after_db, 1)
        );
    }
    if row.is_chosen {
        words += "; aligned";
    }
    words
}
