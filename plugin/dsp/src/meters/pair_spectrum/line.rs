//! One line of the spectrum: the powers of first, second and spot, and what each two of them share.

use std::f64::consts::TAU;

use realfft::num_complex::Complex;

use super::shift::PrintShift;
use crate::meters::correlation::Powers;

/// One bin of the spectrum, summed over the hits.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub(super) struct Bin {
    first: f32,
    second: f32,
    spot: f32,
    /// Of first times the second's conjugate.
    shared: [f32; 2],
    /// Of first times the spot's conjugate.
    first_spot: [f32; 2],
    /// Of second times the spot's conjugate.
    second_spot: [f32; 2],
}

/// One line as it is kept: powers of first, second and spot, and what each two of them share.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct SharedPower {
    pub powers: [f32; 3],
    /// First with second, first with spot, second with spot: over the root of both powers, real and imaginary part.
    pub shared: [[f32; 2]; 3],
}

/// Places of the two in each product of [`SharedPower::shared`].
const PRODUCTS: [[usize; 2]; 3] = [[0, 1], [0, 2], [1, 2]];

impl Bin {
    pub(super) fn shared_power(&self) -> SharedPower {
        let powers = [self.first, self.second, self.spot];
        let products = [self.shared, self.first_spot, self.second_spot];
        let shared = std::array::from_fn(|n| {
            let [a, b] = PRODUCTS[n].map(|channel| powers[channel]);
            let both = (a * b).sqrt();
            let part = if both > 0.0 { 1.0 / both } else { 0.0 };
            products[n].map(|x| part * x)
        });
        SharedPower { powers, shared }
    }

    pub(super) fn of(line: &SharedPower) -> Self {
        let [first, second, spot] = line.powers;
        let product = |n: usize| {
            let [a, b] = PRODUCTS[n].map(|channel| line.powers[channel]);
            line.shared[n].map(|x| (a * b).sqrt() * x)
        };
        Self {
            first,
            second,
            spot,
            shared: product(0),
            first_spot: product(1),
            second_spot: product(2),
        }
    }

    pub(super) const SILENT: Self = Self {
        first: 0.0,
        second: 0.0,
        spot: 0.0,
        shared: [0.0; 2],
        first_spot: [0.0; 2],
        second_spot: [0.0; 2],
    };
}

impl Bin {
    /// Of both channels as they leave at a frequency.
    pub(super) fn powers(&self, hz: f64, shift: &PrintShift) -> Powers {
        let pair = shift.pair;
        let second = if pair.flip { -1.0 } else { 1.0 };
        let shared = second * turned(self.shared, TAU * hz * pair.later_s);
        let mut powers = Powers {
            first: self.first.into(),
            second: self.second.into(),
            shared,
        };
        if let Some(spot) = shift.spot {
            let gain = if spot.flip { -spot.gain } else { spot.gain };
            let of_first = gain * turned(self.first_spot, TAU * hz * spot.later_s);
            let apart_s = spot.later_s - pair.later_s;
            let of_second = gain * second * turned(self.second_spot, TAU * hz * apart_s);
            let own = gain * gain * f64::from(self.spot);
            powers.first += own + 2.0 * of_first;
            powers.second += own + 2.0 * of_second;
            powers.shared += own + of_first + of_second;
        }
        powers
    }
}

impl Bin {
    pub(super) fn add(&mut self, [first, second, spot]: [Complex<f32>; 3]) {
        let product = |sum: &mut [f32; 2], a: Complex<f32>, b: Complex<f32>| {
            let shared = a * b.conj();
            sum[0] += shared.re;
            sum[1] += shared.im;
        };
        self.first += first.norm_sqr();
        self.second += second.norm_sqr();
        self.spot += spot.norm_sqr();
        product(&mut self.shared, first, second);
        product(&mut self.first_spot, first, spot);
        product(&mut self.second_spot, second, spot);
    }
}

/// Real part of a cross power once the second of the two has been made later by a phase.
fn turned([re, im]: [f32; 2], phase: f64) -> f64 {
    f64::from(re) * phase.cos() - f64::from(im) * phase.sin()
}
