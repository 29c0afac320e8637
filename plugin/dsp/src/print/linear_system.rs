//! Least squares by normal equations: a symmetric positive system solved by Cholesky's factors.

/// Solves A x = `b` in place of `b`. `a` has the rows of A, symmetric and positive; it is used up.
pub fn solve(a: &mut [Vec<f64>], b: &mut [f64]) {
    let n = b.len();
    for j in 0..n {
        let square: f64 = a[j][..j].iter().map(|x| x * x).sum();
        // Rounding may leave a hair below nothing.
        let root = (a[j][j] - square).max(f64::MIN_POSITIVE).sqrt();
        a[j][j] = root;
        for i in j + 1..n {
            let (above, below) = a.split_at_mut(i);
            let dot: f64 = above[j][..j]
                .iter()
                .zip(&below[0])
                .map(|(x, y)| x * y)
                .sum();
            below[0][j] = (below[0][j] - dot) / root;
        }
    }
    for i in 0..n {
        let dot: f64 = a[i][..i].iter().zip(&*b).map(|(x, y)| x * y).sum();
        b[i] = (b[i] - dot) / a[i][i];
    }
    for i in (0..n).rev() {
        let dot: f64 = (i + 1..n).map(|k| a[k][i] * b[k]).sum();
        b[i] = (b[i] - dot) / a[i][i];
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_solves() {
        let mut a = [
            vec![4.0, 2.0, 1.0],
            vec![2.0, 5.0, 3.0],
            vec![1.0, 3.0, 6.0],
        ];
        let mut b = [11.0, 21.0, 25.0];
        solve(&mut a, &mut b);
        for (got, want) in b.iter().zip([1.0, 2.0, 3.0]) {
            assert!((got - want).abs() < 1e-12, "{got}");
        }
    }
}
