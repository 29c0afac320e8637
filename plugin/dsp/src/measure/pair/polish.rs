//! The fine lag of two stacks around a pair of fronts, with windows that sit at the fronts' own fractions of a sample.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::pair::cut::cut;
use crate::measure::pair::pairs::FrontWindow;

/// A front's window is placed so that the energy's centre lies this long after it: half-way through what is heard after the
/// front, for a sound that sets in at once and stays.
const CENTRE_S: f64 = 0.000_25;
/// Longest window at the highest working rate.
const LONGEST: usize = 96;
/// Looks at most.
const LOOKS: usize = 40;
/// The lag has arrived when it moves by less, samples.
const SETTLED: f64 = 1e-4;
/// Farthest that a look moves lag or place, samples.
const STRIDE: f64 = 0.5;

/// A pair of places in two stacks, samples.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Places {
    /// Half-way between the two fronts.
    pub middle: f64,
    /// Second minus first.
    pub lag: f64,
}

/// Where the two stacks' fronts lie on each other, from a first guess; any shift of a channel shifts it by itself.
/// `sign` is -1 where one channel is upside down.
pub(crate) fn polish(
    stacks: [&[f32]; 2],
    window: &FrontWindow,
    rate: f64,
    sign: f32,
    guess: Places,
) -> Places {
    let mut places = guess;
    for _ in 0..LOOKS {
        let cuts = cut_both(stacks, window, places);
        let shift = shift(&cuts, window, sign);
        let late = centre(&cuts, window) - CENTRE_S * rate;
        places.lag += shift;
        places.middle += (0.5 * late).clamp(-STRIDE, STRIDE);
        if shift.abs() < SETTLED && late.abs() < 10.0 * SETTLED {
            break;
        }
    }
    places
}

/// Where one stack's front lies, from a first guess.
pub(crate) fn place(stack: &[f32], window: &FrontWindow, rate: f64, guess: f64) -> f64 {
    let alone = Places {
        middle: guess,
        lag: 0.0,
    };
    polish([stack, stack], window, rate, 1.0, alone).middle
}

type Cuts = [[f32; LONGEST]; 2];

fn cut_both(stacks: [&[f32]; 2], window: &FrontWindow, places: Places) -> Cuts {
    let mut cuts = [[0.0; LONGEST]; 2];
    for (n, (cuts, stack)) in cuts.iter_mut().zip(stacks).enumerate() {
        let at = places.middle + (n as f64 - 0.5) * places.lag;
        let cuts = &mut cuts[..window.length()];
        cut(stack, at - window.before as f64, cuts);
        window.apply(cuts);
    }
    cuts
}

/// How much later the second lies in its window than the first in its, from three points of the correlation.
fn shift(cuts: &Cuts, window: &FrontWindow, sign: f32) -> f64 {
    let length = window.length();
    let at = |lag| f64::from(sign * shifted_dot(&cuts[0][..length], &cuts[1][..length], lag));
    let (before, top, after) = (at(-1), at(0), at(1));
    let bend = before - 2.0 * top + after;
    let shift = if bend < 0.0 {
        0.5 * (before - after) / bend
    } else {
        0.5 * (after - before).signum()
    };
    shift.clamp(-STRIDE, STRIDE)
}

/// Centre of both windows' energy against the front's place, samples.
fn centre(cuts: &Cuts, window: &FrontWindow) -> f64 {
    let mut sum = 0.0;
    for cut in cuts {
        let (mut energy, mut moment) = (1e-30, 0.0);
        for (n, x) in cut[..window.length()].iter().enumerate() {
            let square = f64::from(*x).powi(2);
            energy += square;
            moment += square * (n as f64 - window.before as f64);
        }
        sum += 0.5 * moment / energy;
    }
    sum
}
