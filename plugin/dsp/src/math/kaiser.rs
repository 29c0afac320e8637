//! The Kaiser window: its parameter for a stop band, and the Bessel function that it is made of.

/// Terms of the series: exact to double precision up to an argument of 16.
const TERMS: usize = 36;

/// 1 / (k! 2^k)², highest first.
const SERIES: [f64; TERMS] = series();

const fn series() -> [f64; TERMS] {
    let mut terms = [0.0; TERMS];
    let (mut term, mut k) = (1.0, 0);
    while k < TERMS {
        terms[TERMS - 1 - k] = term;
        let next = (2 * (k + 1)) as f64;
        term /= next * next;
        k += 1;
    }
    terms
}

/// Modified Bessel function of the first kind, order 0, of the roots of `squares`, in place; by its power series
/// (Abramowitz & Stegun 9.6.12).
pub fn bessel_i0_of_squares(squares: &mut [f64]) {
    let (squares, rest) = squares.as_chunks_mut::<16>();
    for block in squares {
        let mut sums = [0.0; 16];
        for term in SERIES {
            for (sum, square) in sums.iter_mut().zip(&*block) {
                *sum = *sum * square + term;
            }
        }
        *block = sums;
    }
    for square in rest {
        *square = SERIES.iter().fold(0.0, |sum, term| sum * *square + term);
    }
}

/// The same of one number.
pub fn bessel_i0(x: f64) -> f64 {
    let mut square = [x * x];
    bessel_i0_of_squares(&mut square);
    square[0]
}

/// Kaiser's β for a stop band of `attenuation_db`, above 50 dB (Kaiser 1974).
pub const fn kaiser_beta(attenuation_db: f64) -> f64 {
    0.1102 * (attenuation_db - 8.7)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bessel_i0_at_tabled_points() {
        // Abramowitz & Stegun, table 9.8: e^-x I0(x).
        for (x, scaled) in [(1.0, 0.465_759_607_6), (10.0, 0.127_833_337_2)] {
            let mut squares = [x * x; 17];
            bessel_i0_of_squares(&mut squares);
            for i0 in squares {
                assert!((i0 * f64::exp(-x) - scaled).abs() < 1e-9);
            }
        }
    }
}
