//! The product of two rows at a lag: one value of their cross-correlation.

/// What two rows have in common at a lag: `a[n]` beside `b[n + lag]`.
pub(crate) fn overlap<'a>(a: &'a [f32], b: &'a [f32], lag: isize) -> (&'a [f32], &'a [f32]) {
    let moved = lag.unsigned_abs();
    let (a, b) = if lag >= 0 {
        (a, &b[moved.min(b.len())..])
    } else {
        (&a[moved.min(a.len())..], b)
    };
    let length = a.len().min(b.len());
    (&a[..length], &b[..length])
}

/// Sum of `a[n] b[n + lag]`.
pub(crate) fn shifted_dot(a: &[f32], b: &[f32], lag: isize) -> f32 {
    let (a, b) = overlap(a, b, lag);
    let mut sums = [0.0f32; 8];
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    let rest = a.len() - a.len() % 8;
    let tail: f32 = a[rest..].iter().zip(&b[rest..]).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f32>() + tail
}
