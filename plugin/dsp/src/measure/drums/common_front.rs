//! Lays the hits of one drum over each other, and finds the front that all of them share.
//!
//! In a groove a hat is struck within milliseconds of the snare and often before it: the first sound of a hit need
//! not be its drum. But the hat comes at another moment each time. Laid over each other by the drum in the
//! spot, even the quietest eighth of the hits jumps where the drum's own front arrives, and only there.

use std::ops::Range;

use realfft::num_complex::Complex64;

use crate::channels::CHANNELS;
use crate::math::biquad::Biquad;
use crate::math::robust::gather;
use crate::measure::hit::kept::MAX_TAKES;
use crate::measure::hit::kept::Take;
use crate::measure::hit::window::Looks;
use crate::measure::pair::cross_spectrum::{
    Band, DelayEstimator, EstimatorSetup, LagSearch, Placed, Way, Window,
};

/// The body's onset in the spot: no hat or cymbal reaches down here.
const BODY_HZ: Band = Band {
    low_hz: 60.0,
    high_hz: 1_000.0,
};
/// From before the onset to the end of its first cycles.
const BODY: Window = Window {
    rise_s: 0.006,
    flat_s: 0.012,
    fall_s: 0.012,
};
/// Two hits of one drum agree in seven tenths of the body's spectrum and more, two noises in four (own measurement);
/// below this the hits' beginnings, as they were found, are the better guess.
const BODY_AGREES: f64 = 0.5;
/// Farthest two hits' beginnings, as the hit finder saw them, lie apart: a hat may have been struck that long before.
const APART_S: f64 = 0.010;
/// The attack of every drum reaches up here, the body's cycles do not; above are hats and leaks.
const ATTACK_HZ: [f64; 2] = [1_000.0, 5_000.0];
/// Steps of the level curves.
const STEP_S: f64 = 0.000_1;
/// A drum's attack forms in 2 ms: the level of one is compared with that of the two before.
const AFTER: usize = 10;
const BEFORE: usize = 20;
/// A jump is 6 dB or more: a steady sound of 1 ms and 4 kHz swings by 2 dB.
const JUMP: f64 = 4.0;
/// Of hits laid over each other, whose swings do not fall together, 3 dB; and of most of them by themselves.
const COMMON_JUMP: f64 = 2.0;
/// Fronts more than 26 dB below the highest level after them are left out.
const SOFTEST: f64 = 0.05;
/// So many hits that were quiet before and jump together are as good as most: hats over all the others do not.
const QUIET: usize = 3;
/// The direct sound jumps first; a reflection or a drum's second cycle may jump more, but not by twice the decibels.
const EARLIEST: f64 = 0.5;
/// The part of the hits that must be free of other sounds before the front: one of up to sixteen, two of more.
const QUIETEST: f64 = 0.125;

/// Where each channel's front lies in the audio of a voice's reference take, in samples.
pub(crate) type Pattern = [Option<f64>; CHANNELS];

/// Estimator, filters and scratch.
#[derive(Debug)]
pub(crate) struct Overlay {
    body: DelayEstimator,
    spectrum: Box<[Complex64]>,
    high_pass: Biquad,
    low_pass: Biquad,
    step: usize,
    apart: f64,
    common: Box<[f64]>,
}

impl Overlay {
    pub(crate) fn new(rate: f64, samples: usize) -> Self {
        let body = DelayEstimator::new(EstimatorSetup {
            rate,
            window: BODY,
            band: BODY_HZ,
            whitening: 0.7,
        });
        let [high_pass, low_pass] = attack_band(rate);
        Self {
            spectrum: vec![Complex64::default(); body.bins()].into(),
            body,
            high_pass,
            low_pass,
            step: step(rate),
            apart: APART_S * rate,
            common: vec![0.0; steps(rate, samples)].into(),
        }
    }

    /// Writes the level curve of one channel's audio.
    pub(crate) fn level(&self, audio: &[f32], out: &mut [f32]) {
        let (mut high, mut low) = (self.high_pass, self.low_pass);
        for (out, audio) in out.iter_mut().zip(audio.chunks_exact(self.step)) {
            let energy = audio
                .iter()
                .map(|x| low.next(high.next(f64::from(*x))).powi(2));
            *out = energy.sum::<f64>() as f32;
        }
    }

    /// Has a single hit's level curve a front where one is looked for?
    pub(crate) fn has_front(&mut self, level: &[f32], look: [usize; 2]) -> bool {
        self.common
            .iter_mut()
            .zip(level)
            .for_each(|(common, level)| *common = f64::from(*level));
        self.front(look, JUMP, |_| true).is_some()
    }

    /// How much later the body begins in `take` than in `reference`, by their common channel, in samples.
    pub(crate) fn shift(&mut self, reference: &Take, take: &Take, channel: usize, at: f64) -> f64 {
        self.spectrum.fill(Complex64::default());
        if reference.order == take.order {
            return 0.0;
        }
        let of = |signal| Placed { signal, at };
        self.body.add_cross_spectrum(
            of(&reference.audio[channel]),
            of(&take.audio[channel]),
            &mut self.spectrum,
        );
        let search = LagSearch {
            centre: 0.0,
            radius: self.apart,
            way: Way::Same,
        };
        let found = self
            .body
            .highest(&self.spectrum, 0..self.spectrum.len(), search);
        if found.height > BODY_AGREES {
            found.lag
        } else {
            0.0
        }
    }

    /// The front that the quietest eighth of the hits share, in every channel.
    pub(crate) fn pattern<'a>(
        &mut self,
        takes: impl Iterator<Item = &'a Take> + Clone,
        looks: &Looks,
    ) -> Pattern {
        std::array::from_fn(|channel| {
            let mut tops = [0.0; MAX_TAKES];
            let steps = self.steps(looks[channel]);
            let count = gather(
                takes.clone().map(|take| self.top(take, channel, &steps)),
                &mut tops,
            );
            let hits = || takes.clone().zip(tops);
            self.lay(hits(), channel, steps);
            let jumps = |(take, top): (&Take, f64), n: usize| {
                let level = |step: usize| self.level_at(take, channel, step) / top;
                jump(level, n, SOFTEST * SOFTEST) >= COMMON_JUMP
            };
            let quiet = |(take, top): &(&Take, f64), n: usize| {
                let before = mean(
                    |step| self.level_at(take, channel, step) / top,
                    n - BEFORE..n,
                );
                before * COMMON_JUMP <= mean(|step| self.common[step], n..n + AFTER)
            };
            self.front(looks[channel], COMMON_JUMP, |n| {
                let jump = || hits().filter(|hit| jumps(*hit, n));
                2 * jump().count() >= count || jump().filter(|hit| quiet(hit, n)).count() >= QUIET
            })
        })
    }

    /// Writes how loud even the quietest hits are, each against its own highest level.
    fn lay<'a>(
        &mut self,
        hits: impl Iterator<Item = (&'a Take, f64)> + Clone,
        channel: usize,
        steps: Range<usize>,
    ) {
        for step in steps {
            let mut levels = [0.0; MAX_TAKES];
            let one = |(take, top): (&Take, f64)| self.level_at(take, channel, step) / top;
            let count = gather(hits.clone().map(one), &mut levels);
            let quiet = (QUIETEST * count.saturating_sub(1) as f64) as usize;
            let levels = &mut levels[..count];
            self.common[step] = *levels.select_nth_unstable_by(quiet, f64::total_cmp).1;
        }
    }

    /// Steps that are looked at to find a front in `look`.
    fn steps(&self, look: [usize; 2]) -> Range<usize> {
        let to = look[1] / self.step + AFTER;
        look[0] / self.step - BEFORE..to.min(self.common.len())
    }

    /// A take's level, moved so that the hits' bodies lie over each other.
    fn level_at(&self, take: &Take, channel: usize, step: usize) -> f64 {
        let moved = step as f64 + take.shift / self.step as f64;
        let level = take.levels[channel].get(moved.round().max(0.0) as usize);
        f64::from(*level.unwrap_or(&0.0))
    }

    fn top(&self, take: &Take, channel: usize, steps: &Range<usize>) -> f64 {
        let levels = steps.clone().map(|step| self.level_at(take, channel, step));
        levels.fold(f64::MIN_POSITIVE, f64::max)
    }

    /// The first sharp jump of the common level curve at which enough hits jump, too: where the last of the hats comes in
    /// only one does. Without such a one, the first sharp jump.
    fn front(
        &self,
        look: [usize; 2],
        least: f64,
        enough_do: impl Fn(usize) -> bool,
    ) -> Option<f64> {
        let (from, to) = (
            (look[0] / self.step).max(BEFORE),
            (look[1] / self.step).min(self.common.len() - AFTER - 1),
        );
        let level = |step: usize| self.common[step];
        let loudest = (from..to)
            .map(|n| mean(level, n..n + AFTER))
            .fold(0.0, f64::max);
        let floor = SOFTEST * SOFTEST * loudest;
        let jump = |n: usize| match mean(level, n..n + AFTER) {
            soft if soft < floor => 0.0,
            _ => jump(level, n, floor),
        };
        let sharpest = (from..to).map(jump).fold(0.0, f64::max);
        if sharpest < least {
            return None;
        }
        let enough = sharpest.powf(EARLIEST).max(JUMP).min(sharpest);
        let mut sharp = (from..to).filter(|n| jump(*n) >= enough);
        let first = sharp
            .clone()
            .find(|n| enough_do(*n))
            .or_else(|| sharp.next())?;
        // The level after it rises from a millisecond before the front on: the top of that rise is the front.
        let rise = first..(first + AFTER + 1).min(to);
        let top = rise.max_by(|a, b| jump(*a).total_cmp(&jump(*b)))?;
        Some((top * self.step) as f64)
    }
}

/// The level of a millisecond from step `n` on to that of the two before; what lies 40 dB below `floor` is silence.
fn jump(level: impl Fn(usize) -> f64, n: usize, floor: f64) -> f64 {
    let silence = 1e-4 * floor;
    mean(&level, n..n + AFTER) / (mean(&level, n - BEFORE..n) + silence)
}

fn mean(level: impl Fn(usize) -> f64, steps: Range<usize>) -> f64 {
    let count = steps.len() as f64;
    steps.map(level).sum::<f64>() / count
}

/// High-pass and low-pass of the attack band.
pub(crate) fn attack_band(rate: f64) -> [Biquad; 2] {
    [
        Biquad::high_pass(ATTACK_HZ[0], rate),
        Biquad::low_pass(ATTACK_HZ[1].min(0.45 * rate), rate),
    ]
}

/// Samples of one step of the level curves.
pub(crate) fn step(rate: f64) -> usize {
    ((STEP_S * rate) as usize).max(1)
}

/// Steps of the level curve of so many samples.
pub(crate) fn steps(rate: f64, samples: usize) -> usize {
    samples / step(rate)
}
