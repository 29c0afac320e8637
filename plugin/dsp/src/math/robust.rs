//! The middle value and the scatter around it that one wild hit cannot move.

/// Of a normal distribution: standard deviation = 1.4826 times the median absolute deviation (Hampel 1974).
const MAD_TO_DEVIATION: f64 = 1.4826;

/// Fills `out` from the front; how many there were room for.
pub(crate) fn gather<T>(values: impl Iterator<Item = T>, out: &mut [T]) -> usize {
    out.iter_mut()
        .zip(values)
        .map(|(out, value)| *out = value)
        .count()
}

/// The middle of the values, which it sorts; the mean of the middle two when their number is even.
pub(crate) fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_unstable_by(f64::total_cmp);
    let upper = *values.get(values.len() / 2)?;
    let lower = values[(values.len() - 1) / 2];
    Some(0.5 * (lower + upper))
}

/// A value and how much it counts.
pub(crate) type Weighed = (f64, f64);

/// The value that has half of the weight on either side; sorts the values.
pub(crate) fn weighed_median(values: &mut [Weighed]) -> Option<f64> {
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let half = 0.5 * values.iter().map(|value| value.1).sum::<f64>();
    let mut below = 0.0;
    for (n, value) in values.iter().enumerate() {
        below += value.1;
        if below > half {
            return Some(value.0);
        }
        if below == half {
            return Some(0.5 * (value.0 + values[(n + 1).min(values.len() - 1)].0));
        }
    }
    None
}

/// The standard deviation that the values' middle half tells; turns them into distances from `centre`.
pub(crate) fn weighed_scatter(values: &mut [Weighed], centre: f64) -> f64 {
    for value in values.iter_mut() {
        value.0 = (value.0 - centre).abs();
    }
    MAD_TO_DEVIATION * weighed_median(values).unwrap_or(0.0)
}
