//! Numbers as text: signs, decimals.

/// A signed number with a real minus sign; what rounds to zero has none.
pub fn signed(value: f64, decimals: usize) -> String {
    let text = format!("{value:+.decimals$}");
    match text[1..].chars().all(|c| c == '0' || c == '.') {
        true => text[1..].to_owned(),
        false => text.replace('-', "−"),
    }
}

/// A number with a real minus sign.
pub fn plain(value: f64, decimals: usize) -> String {
    let text = signed(value, decimals);
    text.strip_prefix('+').map_or(text.clone(), str::to_owned)
}

/// "760 Hz", "2.27 kHz".
pub fn hertz(hz: f64) -> String {
    match hz {
        hz if hz < 1000.0 => format!("{} Hz", plain(hz, 0)),
        hz => format!("{} kHz", plain(hz / 1000.0, 2)),
    }
}

/// "760 Hz" is "760", "2270 Hz" is "2.27k".
pub fn short_hertz(hz: f64) -> String {
    match hz {
        hz if hz < 1000.0 => plain(hz, 0),
        hz if hz < 10_000.0 => format!("{}k", plain(hz / 1000.0, 2)),
        hz => format!("{}k", plain(hz / 1000.0, 1)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zero_has_no_sign_and_minus_is_a_minus() {
        assert_eq!(signed(-0.04, 1), "0.0");
        assert_eq!(signed(-1.25, 2), "−1.25");
        assert_eq!(signed(3.0, 0), "+3");
        assert_eq!(plain(3.0, 1), "3.0");
    }

    #[test]
    fn frequencies() {
        for (hz, long, short) in [
            (757.6, "758 Hz", "758"),
            (1515.2, "1.52 kHz", "1.52k"),
            (2272.7, "2.27 kHz", "2.27k"),
            (12_345.0, "12.35 kHz", "12.3k"),
        ] {
            assert_eq!((&*hertz(hz), &*short_hertz(hz)), (long, short), "{hz}");
        }
    }
}
