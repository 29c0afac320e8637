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
}
