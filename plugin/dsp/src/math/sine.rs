//! The sine of a number of turns, fast enough for every sample, and the sinc function.

/// Taylor coefficients of sin(2πx) in x², highest first: exact to 4e-14 up to a quarter turn.
const SERIES: [f64; 9] = series();

const fn series() -> [f64; 9] {
    let mut terms = [0.0; 9];
    let (mut term, mut k) = (std::f64::consts::TAU, 0);
    while k < 9 {
        terms[8 - k] = term;
        let next = (2 * k + 2) as f64 * (2 * k + 3) as f64;
        term *= -std::f64::consts::TAU * std::f64::consts::TAU / next;
        k += 1;
    }
    terms
}

/// Adding and taking away this rounds to a whole number, in a way that loops over samples stay wide.
const ROUNDER: f64 = 1.5 * (1u64 << 52) as f64;

/// sin(2π `turns`), within 1e-13; odd bit for bit, and exactly 0 at every half turn.
#[inline]
pub fn sine_of_turns(turns: f64) -> f64 {
    sine_of_half(to_half(turns))
}

/// The same for -0.5 to 0.5.
#[inline(always)]
pub fn sine_of_half(turns: f64) -> f64 {
    let folded = if turns.abs() > 0.25 {
        0.5f64.copysign(turns) - turns
    } else {
        turns
    };
    let square = folded * folded;
    folded * SERIES.iter().fold(0.0, |sum, term| sum * square + term)
}

/// Whole turns taken out: -0.5 to 0.5. Up to 1e15 turns.
#[inline(always)]
pub fn to_half(turns: f64) -> f64 {
    turns - ((turns + ROUNDER) - ROUNDER)
}

/// sin πx / πx.
pub fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-12 {
        1.0
    } else {
        let angle = std::f64::consts::PI * x;
        angle.sin() / angle
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_sine() {
        for n in -3000..3000 {
            let turns = f64::from(n) * 0.001_234_5;
            let want = (std::f64::consts::TAU * turns).sin();
            assert!((sine_of_turns(turns) - want).abs() < 1e-13, "{turns}");
            assert_eq!(sine_of_turns(turns), -sine_of_turns(-turns));
        }
        for turns in [0.0, 0.5, -0.5, 1.0, 1e6] {
            assert_eq!(sine_of_turns(turns), 0.0);
        }
        assert!((sine_of_turns(0.25) - 1.0).abs() < 1e-13);
    }
}
