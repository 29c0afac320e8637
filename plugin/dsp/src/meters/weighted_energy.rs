//! K-weighted energy of two signals side by side, ITU-R BS.1770-4.

use std::ops::Range;

use crate::math::widest::{Arithmetic, Work, run_widest};
use crate::meters::loudness::weighting;

/// Most channels of one signal.
const CHANNELS: usize = 2;
/// Channels of both signals: one 256-bit register.
const LANES: usize = 2 * CHANNELS;
/// Added in each filter, 600 dB below full scale: its memory fades to this, in the low cut to 40 000 times as much at 48 kHz,
/// and never into subnormal numbers.
const NOTHING: f64 = 1e-30;
/// Most samples that are weighted in one go.
const PASS: usize = 64;
/// A channel that is not there.
const ABSENT: [f32; PASS] = [0.0; PASS];

/// Sums up the energy of both signals. The order of its sums is the samples' alone, so that any split gives the same bits.
#[derive(Clone, Debug)]
pub(super) struct WeightedEnergy {
    /// In the order of the signal.
    filters: [Section; 2],
    sums: [f64; LANES],
}

impl WeightedEnergy {
    /// Nothing heard yet.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            filters: weighting(sample_rate).map(Section::new),
            sums: [0.0; LANES],
        }
    }

    /// As if nothing had been heard.
    pub fn reset(&mut self) {
        self.filters.iter_mut().for_each(Section::reset);
        self.sums = [0.0; LANES];
    }

    /// The same stretch of both signals.
    pub fn add(&mut self, signal: &[&[f32]], reference: &[&[f32]], part: Range<usize>) {
        let channel = |lane: usize| match lane {
            0..CHANNELS => signal.get(lane),
            _ => reference.get(lane - CHANNELS),
        };
        for start in part.clone().step_by(PASS) {
            let pass = start..part.end.min(start + PASS);
            let stretch = |lane| channel(lane).map_or(&ABSENT[..pass.len()], |c| &c[pass.clone()]);
            run_widest(Weigh {
                channels: std::array::from_fn(stretch),
                energy: self,
            });
        }
    }

    /// The energy of both since it was taken last.
    pub fn take(&mut self) -> [f64; 2] {
        let [a, b, c, d] = std::mem::replace(&mut self.sums, [0.0; LANES]);
        [a + b, c + d]
    }
}

/// A stretch of all channels, of one length, on its way through both filters.
struct Weigh<'a> {
    channels: [&'a [f32]; LANES],
    energy: &'a mut WeightedEnergy,
}

impl Work for Weigh<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        // A copy stays in registers.
        let mut now = self.energy.clone();
        let [shelf, low_cut] = &mut now.filters;
        for n in 0..self.channels[0].len() {
            let x = self.channels.map(|channel| f64::from(channel[n]));
            let y = low_cut.next::<A>(shelf.next::<A>(x));
            for (sum, y) in now.sums.iter_mut().zip(y) {
                *sum = A::add_double(*sum, y, y);
            }
        }
        *self.energy = now;
    }
}

/// One of the two filters. In direct form I a single product waits for the sample before.
#[derive(Clone, Debug)]
struct Section {
    forward: [f64; 3],
    back: [f64; 2],
    /// What came in and what went out with the last sample and the one before.
    x: [[f64; LANES]; 2],
    y: [[f64; LANES]; 2],
}

impl Section {
    fn new((forward, back): ([f64; 3], [f64; 2])) -> Self {
        Self {
            forward,
            back,
            x: [[0.0; LANES]; 2],
            y: [[0.0; LANES]; 2],
        }
    }

    fn reset(&mut self) {
        *self = Self::new((self.forward, self.back));
    }

    #[inline(always)]
    fn next<A: Arithmetic>(&mut self, x: [f64; LANES]) -> [f64; LANES] {
        let ([b0, b1, b2], [a1, a2]) = (self.forward, self.back);
        let mut y = [0.0; LANES];
        for n in 0..LANES {
            let older = A::add_double(NOTHING, b2, self.x[1][n]);
            let older = A::add_double(older, b1, self.x[0][n]);
            let older = A::add_double(older, -a2, self.y[1][n]);
            y[n] = A::add_double(A::add_double(older, b0, x[n]), -a1, self.y[0][n]);
        }
        (self.x, self.y) = ([x, self.x[0]], [y, self.y[0]]);
        y
    }
}
