//! The middle stroke at each moment: eight moments at once through a sorting network.

/// Moments that are sorted side by side.
pub(crate) const SORTED_ABREAST: usize = 8;

/// Fills `out` with the median of the rows at each sample (of an even number the mean of the two middle ones). `values` holds
/// one place a row.
pub(crate) fn middle<'a>(
    count: usize,
    row: impl Fn(usize) -> (&'a [f32], f32),
    values: &mut [[f32; SORTED_ABREAST]],
    out: &mut [f32],
) {
    let values = &mut values[..count];
    let (low, high) = ((count - 1) / 2, count / 2);
    for (chunk, out) in out.chunks_mut(SORTED_ABREAST).enumerate() {
        let from = chunk * SORTED_ABREAST;
        for (n, value) in values.iter_mut().enumerate() {
            let (row, scale) = row(n);
            for (value, x) in value.iter_mut().zip(&row[from..from + out.len()]) {
                *value = scale * x;
            }
        }
        sort(values);
        for (k, out) in out.iter_mut().enumerate() {
            *out = 0.5 * (values[low][k] + values[high][k]);
        }
    }
}

/// Merge exchange: sorts every column by comparisons that do not depend on the values (Batcher 1968; Knuth, The Art of
/// Computer Programming 3, algorithm 5.2.2 M, from memory).
fn sort(values: &mut [[f32; SORTED_ABREAST]]) {
    let count = values.len();
    let top = count.next_power_of_two() / 2;
    let mut p = top;
    while p > 0 {
        let (mut q, mut r, mut d) = (top, 0, p);
        loop {
            for low in (0..count.saturating_sub(d)).filter(|n| n & p == r) {
                exchange(values, low, low + d);
            }
            if q == p {
                break;
            }
            (d, q, r) = (q - p, q / 2, p);
        }
        p /= 2;
    }
}

fn exchange(values: &mut [[f32; SORTED_ABREAST]], low: usize, high: usize) {
    let (a, b) = (values[low], values[high]);
    for k in 0..SORTED_ABREAST {
        values[low][k] = if a[k] < b[k] { a[k] } else { b[k] };
        values[high][k] = if a[k] < b[k] { b[k] } else { a[k] };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Any number of rows, also with equal values, against a sort.
    #[test]
    fn is_the_median_of_any_number_of_rows() {
        let mut state = 1u32;
        let mut random = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            (state >> 28) as f32 - 8.0
        };
        for count in 1..=24 {
            let rows: Vec<Vec<f32>> = (0..count)
                .map(|_| (0..21).map(|_| random()).collect())
                .collect();
            let mut values = [[0.0; SORTED_ABREAST]; 24];
            let mut out = [0.0; 21];
            middle(count, |n| (&rows[n], 1.0), &mut values, &mut out);
            for (n, out) in out.iter().enumerate() {
                let mut column: Vec<f32> = rows.iter().map(|row| row[n]).collect();
                column.sort_by(f32::total_cmp);
                let wanted = 0.5 * (column[(count - 1) / 2] + column[count / 2]);
                assert_eq!(*out, wanted, "{count} rows, sample {n}");
            }
        }
    }
}
