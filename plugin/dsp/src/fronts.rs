//! Where wavefronts may have reached a microphone, and at which lags every hit of a drum agrees.
//!
//! In a groove a hat is struck within milliseconds of the snare and often before it, so that the first sound of a
//! hit need not be its drum. Each channel of a hit gives every jump of its level; a drum's own lags are those at
//! which the jumps of two channels stand together hit after hit.

use crate::history::CHANNELS;
use crate::median::median;
use crate::take::Take;
use crate::wavefronts::MAX_TAKES;

/// Jumps kept of one channel of one hit.
pub(crate) const FRONTS: usize = 8;
/// The attack of every drum reaches up here, the body's cycles do not; above are leaks and cymbals.
const BAND_HZ: [f64; 2] = [1_000.0, 9_000.0];
/// A drum's attack forms in 2 ms: the level of one is compared with that of the two before.
const AFTER_S: f64 = 0.001;
const BEFORE_S: f64 = 0.002;
/// A jump is 6 dB or more: a steady sound of 1 ms and 8 kHz swings by 1 dB.
const JUMP: f64 = 4.0;
/// A jump of 20 dB out of what went before is as clear as can be.
const CLEAR: f64 = 10_000.0;
/// Fronts more than 26 dB below the highest of the hit are left out.
const SOFTEST: f64 = 0.05;
/// Lags of one drum from hit to hit: half a head, 5 cm of air.
const AGREE_S: f64 = 0.000_15;
/// The earliest lag with half the highest support is the direct sound's; later ones are reflections, which may be
/// louder (the rule of the first peak above half the highest).
const EARLIEST: f64 = 0.9;
/// Lags that are looked at, seconds.
const LAGS_S: [f64; 2] = [-0.010, 0.034];
/// Steps of the support's histogram, seconds.
const STEP_S: f64 = 0.000_05;
const STEPS: usize = 880;

/// One jump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Front {
    /// Samples from the audio's start.
    pub at: f64,
    /// Level of the millisecond after it, to the highest of the hit's fronts in this channel.
    pub weight: f64,
}

/// The jumps of one channel, earliest first.
pub(crate) type Fronts = [Option<Front>; FRONTS];

/// Lags of each channel's front against the reference channel's, in samples.
pub(crate) type Pattern = [Option<f64>; CHANNELS];

/// Filter and scratch.
#[derive(Debug)]
pub(crate) struct FrontFinder {
    high_pass: Biquad,
    low_pass: Biquad,
    after: usize,
    before: usize,
    energy: Box<[f64]>,
    jump: Box<[f64]>,
}

impl FrontFinder {
    pub(crate) fn new(rate: f64, samples: usize) -> Self {
        Self {
            high_pass: Biquad::high_pass(BAND_HZ[0], rate),
            low_pass: Biquad::low_pass(BAND_HZ[1].min(0.45 * rate), rate),
            after: (AFTER_S * rate) as usize,
            before: (BEFORE_S * rate) as usize,
            energy: vec![0.0; samples + 1].into(),
            jump: vec![0.0; samples + 1].into(),
        }
    }

    /// The jumps of one channel's audio between two of its samples.
    pub(crate) fn find(&mut self, audio: &[f32], from: usize, to: usize) -> Fronts {
        self.accumulate(audio);
        let (from, to) = (from.max(self.before), to.min(audio.len() - self.after));
        let energy =
            |from: usize, to: usize| (self.energy[to] - self.energy[from]) / (to - from) as f64;
        let loudest = (from..to)
            .map(|n| energy(n, n + self.after))
            .fold(f64::MIN_POSITIVE, f64::max);
        let floor = SOFTEST * SOFTEST * loudest;
        for n in from..to {
            let now = energy(n, n + self.after);
            let past = energy(n - self.before, n) + 1e-4 * floor;
            self.jump[n] = if now > floor { now / past } else { 0.0 };
        }
        let mut fronts = [None; FRONTS];
        let mut count = 0;
        for n in from..to {
            let around = n.saturating_sub(self.after).max(from)..(n + self.after).min(to);
            let highest = self.jump[around].iter().fold(0.0, |a: f64, b| a.max(*b));
            if self.jump[n] > JUMP && self.jump[n] >= highest && count < FRONTS {
                let clear = (self.jump[n].log10() / CLEAR.log10()).min(1.0);
                let weight = clear;
                fronts[count] = Some(Front {
                    at: n as f64,
                    weight,
                });
                count += 1;
            }
        }
        fronts
    }

    /// Running energy of the filtered audio.
    fn accumulate(&mut self, audio: &[f32]) {
        let (mut high, mut low) = (self.high_pass, self.low_pass);
        let mut sum = 0.0;
        for (n, sample) in audio.iter().enumerate() {
            self.energy[n] = sum;
            sum += low.next(high.next(f64::from(*sample))).powi(2);
        }
        self.energy[audio.len()] = sum;
    }
}

/// The lags at which a voice's hits agree, of every channel against `reference`.
pub(crate) fn pattern<'a>(
    takes: impl Iterator<Item = &'a Take> + Clone,
    reference: usize,
    rate: f64,
) -> Pattern {
    std::array::from_fn(|channel| {
        if channel == reference {
            return Some(0.0);
        }
        common_lag(takes.clone(), reference, channel, rate)
    })
}

fn common_lag<'a>(
    takes: impl Iterator<Item = &'a Take> + Clone,
    from: usize,
    to: usize,
    rate: f64,
) -> Option<f64> {
    let mut support = [0.0; STEPS];
    for take in takes.clone() {
        let mut own = [0.0f64; STEPS];
        for (lag, weight) in lags(take, from, to) {
            let step = (lag / rate - LAGS_S[0]) / STEP_S;
            if (0.0..STEPS as f64).contains(&step) {
                let slot = &mut own[step as usize];
                *slot = slot.max(weight);
            }
        }
        support
            .iter_mut()
            .zip(own)
            .for_each(|(sum, own)| *sum += own);
    }
    let reach = (AGREE_S / STEP_S) as usize;
    let smooth = |n: usize| {
        let around = n.saturating_sub(reach)..(n + reach + 1).min(STEPS);
        around
            .map(|m| support[m] * (1.0 - m.abs_diff(n) as f64 / (reach + 1) as f64))
            .sum::<f64>()
    };
    let highest = (0..STEPS).map(smooth).fold(0.0, f64::max);
    let enough = |n: &usize| {
        let here = smooth(*n);
        here >= EARLIEST * highest && here > 0.0 && (*n + 1 == STEPS || smooth(n + 1) <= here)
    };
    let peak = (0..STEPS).find(enough)?;
    let centre = (LAGS_S[0] + (peak as f64 + 0.5) * STEP_S) * rate;
    let mut near = [0.0; MAX_TAKES];
    let closest = |take: &Take| {
        let apart = |lag: &f64| (lag - centre).abs();
        let lag = lags(take, from, to)
            .map(|(lag, _)| lag)
            .min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
        (apart(&lag) <= AGREE_S * rate).then_some(lag)
    };
    let count = crate::take::gather(takes.filter_map(closest), &mut near);
    median(&mut near[..count])
}

fn lags(take: &Take, from: usize, to: usize) -> impl Iterator<Item = (f64, f64)> + '_ {
    let starts = take.fronts[from].iter().flatten();
    starts.flat_map(move |a| {
        take.fronts[to]
            .iter()
            .flatten()
            .map(move |b| (b.at - a.at, a.weight * b.weight))
    })
}

/// Where a take's drum reached the reference channel: the earliest jump that the other channels answer at the
/// voice's lags; without any, the loudest.
pub(crate) fn anchor(take: &Take, pattern: &Pattern, reference: usize, rate: f64) -> Option<f64> {
    let near = |channel: usize, at: f64| {
        let close = |front: &Front| (front.at - at).abs() <= 2.0 * AGREE_S * rate;
        take.fronts[channel].iter().flatten().any(close)
    };
    let answered = |front: &&Front| {
        (0..CHANNELS)
            .all(|channel| pattern[channel].is_none_or(|lag| near(channel, front.at + lag)))
    };
    let fronts = || take.fronts[reference].iter().flatten();
    let loudest = fronts().max_by(|a, b| a.weight.total_cmp(&b.weight));
    fronts().find(answered).or(loudest).map(|front| front.at)
}

/// Second order, direct form I, Butterworth, bilinear.
#[derive(Clone, Copy, Debug)]
struct Biquad {
    forward: [f64; 3],
    back: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl Biquad {
    fn high_pass(hz: f64, rate: f64) -> Self {
        let w = (std::f64::consts::PI * hz / rate).tan();
        Self::normalised([1.0, -2.0, 1.0], w)
    }

    fn low_pass(hz: f64, rate: f64) -> Self {
        let w = (std::f64::consts::PI * hz / rate).tan();
        Self::normalised([w * w, 2.0 * w * w, w * w], w)
    }

    fn normalised(forward: [f64; 3], w: f64) -> Self {
        let a0 = 1.0 + std::f64::consts::SQRT_2 * w + w * w;
        let back = [
            2.0 * (w * w - 1.0) / a0,
            (1.0 - std::f64::consts::SQRT_2 * w + w * w) / a0,
        ];
        Self {
            forward: forward.map(|b| b / a0),
            back,
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    fn next(&mut self, x: f64) -> f64 {
        let [b0, b1, b2] = self.forward;
        let y = b0 * x + b1 * self.x[0] + b2 * self.x[1]
            - self.back[0] * self.y[0]
            - self.back[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }
}
