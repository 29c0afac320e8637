//! A moment as a date of the Gregorian calendar, in universal time.

use std::time::{SystemTime, UNIX_EPOCH};

const DAY_S: u64 = 86_400;

/// "2026-11-26 13:07 UTC".
pub fn date(at: SystemTime) -> String {
    let seconds = at
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_secs());
    let (year, month, day) = civil((seconds / DAY_S) as i64);
    let minutes = seconds % DAY_S / 60;
    format!(
        "{year}-{month:02}-{day:02} {:02}:{:02} UTC",
        minutes / 60,
        minutes % 60
    )
}

/// Year, month and day of a number of days since 1970-01-01: E. G. Richards, "Calendars", in the Explanatory Supplement to the
/// Astronomical Almanac, 3rd edition, 15.11.3.
fn civil(days: i64) -> (i64, i64, i64) {
    let julian = days + 2_440_588;
    let f = julian + 1401 + (4 * julian + 274_277) / 146_097 * 3 / 4 - 38;
    let e = 4 * f + 3;
    let g = e % 1461 / 4;
    let h = 5 * g + 2;
    let day = h % 153 / 5 + 1;
    let month = (h / 153 + 2) % 12 + 1;
    let year = e / 1461 - 4716 + (14 - month) / 12;
    (year, month, day)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_of_the_calendar() {
        for (days, day) in [
            (0, (1970, 1, 1)),
            (11_016, (2000, 2, 29)),
            (19_782, (2024, 2, 29)),
            (20_783, (2026, 11, 26)),
            (47_540, (2100, 2, 28)),
            (47_541, (2100, 3, 1)),
        ] {
            assert_eq!(civil(days), day, "{days} days");
        }
    }
}
