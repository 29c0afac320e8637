//! The product of two rows at a lag: one value of their cross-correlation.

/// Sum of `a[n] b[n + lag]`.
pub(crate) fn shifted_dot(a: &[f32], b: &[f32], lag: isize) -> f32 {
    let (a, b) = if lag >= 0 {
        (a, &b[(lag as usize).min(b.len())..])
    } else {
        (&a[(-lag as usize).min(a.len())..], b)
    };
    let length = a.len().min(b.len());
    let mut sums = [0.0f32; 8];
    let (a, b) = (&a[..length], &b[..length]);
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    let rest = length - length % 8;
    let tail: f32 = a[rest..].iter().zip(&b[rest..]).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f32>() + tail
}
