//! First-order shelves whose product follows a wanted magnitude.
//!
//! Losses go with wavelength, so their poles lie evenly in octaves.

use std::f64::consts::{PI, TAU};

use super::linear_system::solve;
use super::one_poles::{Pair, root_of};

/// Shelves in one fit.
const SHELVES: usize = 5;
/// One more, of the equaliser's treble, has its pole here, hertz: above what is heard of the zero's work.
const TREBLE_POLE_HZ: f64 = 12_000.0;
/// Highest pole of the treble and highest zero, as parts of the sample rate.
const HIGHEST_TREBLE_POLE: f64 = 0.4;
const HIGHEST_ZERO: f64 = 0.35;
/// Zeros lie at least so far apart, in nepers of frequency: one over the shelves then has no two poles alike.
const APART: f64 = 1e-4;
/// Least distance of a corner from a quarter of the rate, in nepers of tan(ω/2).
const OFF_THE_MIDDLE: f64 = 2e-3;
/// Poles, hertz: about 1.6 octaves apart, down to where a loss of wavelength at the slowest speed is 0.05 dB.
const POLES_HZ: [f64; SHELVES] = [40.0, 130.0, 420.0, 1350.0, 4000.0];
/// The highest pole as a part of the sample rate.
const HIGHEST: f64 = 0.35;
/// Frequencies that are asked for, evenly in octaves from [`LOW_HZ`].
const POINTS: usize = 100;
const LOW_HZ: f64 = 20.0;
/// Most steps of the search; it settles in about ten.
const STEPS: usize = 40;
/// A step that gains less than this part ends the search.
const SETTLED: f64 = 1e-4;
/// Longest step of a zero, in nepers of frequency.
const LONGEST: f64 = 0.5;

/// One shelf: the logarithms of tan(ω/2) at its zero and its pole.
#[derive(Clone, Copy, Debug)]
struct Shelf {
    zero: f64,
    pole: f64,
}

impl Shelf {
    /// A corner at a quarter of the rate has its root at 0, where partial fractions have no weight for it: a hair beside.
    fn off_the_middle(self) -> Self {
        let moved = |corner: f64| match corner.abs() < OFF_THE_MIDDLE {
            true => OFF_THE_MIDDLE,
            false => corner,
        };
        Self {
            zero: moved(self.zero),
            pole: moved(self.pole),
        }
    }
}

/// Shelves that are 1 at 0 Hz and follow `losses` (amplitude of hertz, 1 at 0 Hz) up to `top_hz`, by Levenberg and
/// Marquardt's least squares over the zeros; and one for the time constant of the treble, `treble_s` (0: none).
pub fn shelves(
    losses: impl Fn(f64) -> f64,
    treble_s: f64,
    top_hz: f64,
    sample_rate: f64,
) -> Vec<Pair> {
    let fitted = fit(&Points::new(losses, top_hz, sample_rate), sample_rate);
    let treble = (treble_s > 0.0).then(|| {
        let limited = |hz: f64, part: f64| corner(hz.min(part * sample_rate), sample_rate);
        Shelf {
            zero: limited(1.0 / (TAU * treble_s), HIGHEST_ZERO),
            pole: limited(TREBLE_POLE_HZ, HIGHEST_TREBLE_POLE),
        }
    });
    let mut all: Vec<Shelf> = fitted.into_iter().chain(treble).collect();
    for shelf in &mut all {
        *shelf = shelf.off_the_middle();
    }
    all.sort_by(|a, b| a.zero.total_cmp(&b.zero));
    for n in 1..all.len() {
        all[n].zero = all[n].zero.max(all[n - 1].zero + APART);
    }
    let pair =
        |shelf: &Shelf| Pair::level_below(root_of(shelf.zero.exp()), root_of(shelf.pole.exp()));
    all.iter().map(pair).collect()
}

fn fit(points: &Points, sample_rate: f64) -> [Shelf; SHELVES] {
    let highest_zero = corner(HIGHEST_ZERO * sample_rate, sample_rate);
    let mut shelves = POLES_HZ.map(|hz| {
        let pole = corner(hz.min(HIGHEST * sample_rate), sample_rate);
        Shelf {
            zero: pole + 0.2,
            pole,
        }
    });
    let mut errors = points.errors(&shelves);
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let mut tried = points.step(&shelves, &errors, damping);
        for shelf in &mut tried {
            shelf.zero = shelf.zero.min(highest_zero);
        }
        let left = points.errors(&tried);
        let gained = sum_of_squares(&errors) - sum_of_squares(&left);
        if gained > 0.0 {
            let settled = gained < SETTLED * sum_of_squares(&errors);
            (shelves, errors) = (tried, left);
            damping = f64::max(damping / 4.0, 1e-9);
            if settled {
                break;
            }
        } else {
            damping *= 4.0;
        }
    }
    shelves
}

/// Logarithm of tan(ω/2).
fn corner(hz: f64, sample_rate: f64) -> f64 {
    (PI * hz / sample_rate).tan().ln()
}

fn sum_of_squares(errors: &[f64; POINTS]) -> f64 {
    errors.iter().map(|e| e * e).sum()
}

/// What is wanted, at every frequency.
struct Points {
    /// tan²(ω/2).
    squares: [f64; POINTS],
    /// Logarithm of the power.
    wanted: [f64; POINTS],
}

impl Points {
    fn new(wanted: impl Fn(f64) -> f64, top_hz: f64, sample_rate: f64) -> Self {
        let hz = |n: usize| LOW_HZ * (top_hz / LOW_HZ).powf(n as f64 / (POINTS - 1) as f64);
        Self {
            squares: std::array::from_fn(|n| (2.0 * corner(hz(n), sample_rate)).exp()),
            wanted: std::array::from_fn(|n| 2.0 * wanted(hz(n)).ln()),
        }
    }

    fn errors(&self, shelves: &[Shelf; SHELVES]) -> [f64; POINTS] {
        let power = |square: f64, corner: f64| (square * (-2.0 * corner).exp()).ln_1p();
        std::array::from_fn(|n| {
            let shelf = |s: &Shelf| power(self.squares[n], s.zero) - power(self.squares[n], s.pole);
            self.wanted[n] - shelves.iter().map(shelf).sum::<f64>()
        })
    }

    /// The zeros moved by one damped step.
    fn step(
        &self,
        shelves: &[Shelf; SHELVES],
        errors: &[f64; POINTS],
        damping: f64,
    ) -> [Shelf; SHELVES] {
        // d/dz of ln(1 + T² e^(-2z)).
        let slope = |square: f64, zero: f64| -2.0 / (1.0 + (2.0 * zero).exp() / square);
        let slopes = shelves.map(|shelf| self.squares.map(|square| slope(square, shelf.zero)));
        let dot = |a: &[f64; POINTS], b: &[f64; POINTS]| a.iter().zip(b).map(|(a, b)| a * b).sum();
        let mut system: Vec<Vec<f64>> = (slopes.iter())
            .map(|row| slopes.iter().map(|other| dot(row, other)).collect())
            .collect();
        for (n, row) in system.iter_mut().enumerate() {
            row[n] *= 1.0 + damping;
        }
        let mut moves = slopes.map(|row| dot(&row, errors));
        solve(&mut system, &mut moves);
        std::array::from_fn(|n| Shelf {
            zero: shelves[n].zero + moves[n].clamp(-LONGEST, LONGEST),
            pole: shelves[n].pole,
        })
    }
}
