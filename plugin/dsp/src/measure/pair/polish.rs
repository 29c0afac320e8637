//! The fine lag of two stacks, in windows at the fronts' own fractions of a sample: the nearest one, or the best within reach.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::pair::cut::cut;
use crate::measure::pair::pairs::FrontWindow;

/// A front's window is placed so that the energy's centre lies this long after it: half-way through what is heard after the
/// front, for a sound that sets in at once and stays.
const CENTRE_S: f64 = 0.000_25;
/// Longest window at the highest working rate: the fronts' and the tail's.
const LONGEST: usize = 384;
/// Looks at most.
const LOOKS: usize = 40;
/// The lag has arrived when it moves by less, samples.
const SETTLED: f64 = 1e-4;
/// A pair counts by the square of how alike its two are, and at least as if they were this much.
const LEAST: f64 = 0.05;
/// Farthest that a look moves lag or place, samples.
const STRIDE: f64 = 0.5;
/// Lags within this of each other are one: a sample at 44.1 kHz.
pub(crate) const SAME_S: f64 = 1.0 / 44_100.0;
/// Steps of a search, a sample.
const STEPS: f64 = 4.0;

/// A pair of places in two stacks, samples.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Places {
    /// Half-way between the two fronts.
    pub middle: f64,
    /// Second minus first.
    pub lag: f64,
}

impl Places {
    /// Of two whole samples with the finer lag between them.
    pub(crate) fn between(at: [usize; 2], lag: f64) -> Self {
        Self {
            middle: 0.5 * (at[0] as f64 + at[1] as f64),
            lag,
        }
    }
}

/// Where the two stacks' fronts lie on each other, from a first guess; any shift of a channel shifts it by itself.
/// `sign` is -1 where one channel has reversed polarity.
pub(crate) fn polish(
    stacks: [&[f32]; 2],
    window: &FrontWindow,
    rate: f64,
    sign: f32,
    guess: Places,
) -> Places {
    polish_together(std::iter::once(stacks), window, rate, sign, guess)
}

/// The same of several pairs at once: where the sum of their correlations, each at most one, is highest.
pub(crate) fn polish_together<'a>(
    pairs: impl Iterator<Item = [&'a [f32]; 2]> + Clone,
    window: &FrontWindow,
    rate: f64,
    sign: f32,
    guess: Places,
) -> Places {
    let mut places = guess;
    for _ in 0..LOOKS {
        let mut seen = Seen::default();
        for pair in pairs.clone() {
            seen.add(&cut_both(pair, window, places), window, sign);
        }
        let shift = seen.shift();
        let late = seen.centre() - CENTRE_S * rate;
        places.lag += shift;
        places.middle += (0.5 * late).clamp(-STRIDE, STRIDE);
        if shift.abs() < SETTLED && late.abs() < 10.0 * SETTLED {
            break;
        }
    }
    places
}

/// The lag within `reach` samples of a guess at which two stacks are most alike, their middle left where it is, and how alike
/// they are there, -1 to 1.
pub(crate) fn search(
    stacks: [&[f32]; 2],
    window: &FrontWindow,
    sign: f32,
    guess: Places,
    reach: f64,
) -> (f64, f64) {
    let lag = |step: f64| guess.lag + step / STEPS;
    let alike = |step: f64| {
        let places = Places {
            lag: lag(step),
            ..guess
        };
        let [alike] = alike(&cut_both(stacks, window, places), window, sign, [0]);
        alike
    };
    let steps = (reach * STEPS).round() as i32;
    let (mut best, mut top) = (0.0, f64::MIN);
    for step in (-steps..=steps).map(f64::from) {
        let height = alike(step);
        if height > top {
            (best, top) = (step, height);
        }
    }
    let around = [alike(best - 1.0), top, alike(best + 1.0)];
    (lag(best + highest(around).unwrap_or(0.0)), top)
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

/// Correlation of both cuts at some lags, at most one.
fn alike<const N: usize>(
    cuts: &Cuts,
    window: &FrontWindow,
    sign: f32,
    lags: [isize; N],
) -> [f64; N] {
    let [first, second] = [0, 1].map(|k| &cuts[k][..window.length()]);
    let scale = (energy(first) * energy(second)).sqrt();
    lags.map(|lag| f64::from(sign) * f64::from(shifted_dot(first, second, lag)) / scale)
}

fn energy(cut: &[f32]) -> f64 {
    f64::from(shifted_dot(cut, cut, 0)).max(1e-30)
}

/// Where the parabola through three heights a step apart is highest, steps from the middle one, within half a step; `None` where
/// it has no highest point.
fn highest([before, top, after]: [f64; 3]) -> Option<f64> {
    let bend = before - 2.0 * top + after;
    (bend < 0.0).then(|| (0.5 * (before - after) / bend).clamp(-0.5, 0.5))
}

/// What one look at all pairs sees.
#[derive(Default)]
struct Seen {
    /// Sums of the correlations a sample before, at, and a sample after no lag.
    correlation: [f64; 3],
    /// Sum of the energies' centres against the fronts' places, samples.
    centre: f64,
    weight: f64,
}

impl Seen {
    fn add(&mut self, cuts: &Cuts, window: &FrontWindow, sign: f32) {
        let [before, top, after] = alike(cuts, window, sign, [-1, 0, 1]);
        let weight = top.max(LEAST).powi(2);
        for (sum, x) in self.correlation.iter_mut().zip([before, top, after]) {
            *sum += weight * x;
        }
        for cut in cuts.iter().map(|cut| &cut[..window.length()]) {
            let place =
                |(n, x): (usize, &f32)| f64::from(*x).powi(2) * (n as f64 - window.before as f64);
            self.centre +=
                weight * 0.5 * cut.iter().enumerate().map(place).sum::<f64>() / energy(cut);
        }
        self.weight += weight;
    }

    /// How much later the second lies in its window than the first in its, by a parabola.
    fn shift(&self) -> f64 {
        let [before, top, after] = self.correlation;
        highest([before, top, after]).unwrap_or(STRIDE * (after - before).signum())
    }

    fn centre(&self) -> f64 {
        self.centre / self.weight.max(f64::MIN_POSITIVE)
    }
}
