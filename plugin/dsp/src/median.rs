//! The middle value and the scatter around it that one wild hit cannot move.

/// Of a normal distribution: standard deviation = 1.4826 times the median absolute deviation (Hampel 1974).
const MAD_TO_DEVIATION: f64 = 1.4826;

/// The middle of the values, which it sorts; the mean of the middle two when their number is even.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    let lower = values[(values.len() - 1) / 2];
    Some(0.5 * (lower + upper))
}

/// The standard deviation that the values' middle half tells; turns them into distances from `centre`.
pub(crate) fn scatter(values: &mut [f64], centre: f64) -> f64 {
    values
        .iter_mut()
        .for_each(|value| *value = (*value - centre).abs());
    MAD_TO_DEVIATION * median(values).unwrap_or(0.0)
}
