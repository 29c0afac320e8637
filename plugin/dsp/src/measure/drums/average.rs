//! All hits of one drum heard as one, for where hit by hit they do not agree: what is the drum's adds up, what is not thins out.
//!
//! Laid over each other, every hit is weighed by how little is left of it when the others' sum is taken away (iteratively
//! reweighted least squares: Holland & Welsch 1977, from memory), so that those with a hat on the front hardly count. Where
//! no two strokes are alike all count the same, and their sum still arrives when each of them does.

use crate::channels::CHANNELS;
use crate::math::biquad::Biquad;
use crate::math::robust::{gather, median};
use crate::measure::drums::common_front::{Pattern, attack_band, step};
use crate::measure::hit::kept::{KeptHit, MAX_HITS};
use crate::measure::hit::onset::{OnsetPicker, Picks};
use crate::measure::hit::picks::{self, pick_near};
use crate::measure::pair::coarse::Pair;

/// Hits are compared from before the front, as far as it may lie from where the overlaid hits jump ...
const BEFORE_S: f64 = 0.002;
/// ... to the first peak, likewise.
const AFTER_S: f64 = 0.0015;
/// How loud a stroke was is taken from its first 5 ms in the reference channel, where no other drum is as loud.
const LOUDNESS_S: f64 = 0.005;
/// Divides no hit by nothing.
const SILENT: f64 = 1e-9;
/// Filters have settled after this.
const SETTLE_S: f64 = 0.002;
/// What is left of the best of hits is a hundredth of its power, or a single one would be the sum.
const ALIKE: f64 = 0.01;
/// Weights are found from the sum and the sum from the weights, so many times.
const ROUNDS: usize = 5;

/// Scratch, and the fronts that were found last. `new` allocates; nothing else does.
#[derive(Debug)]
pub(crate) struct WeightedAverage {
    rate: f64,
    high_pass: Biquad,
    low_pass: Biquad,
    /// Length of what is compared, samples.
    length: usize,
    /// The hits' attack bands around one channel's front, one after the other, as loud as each other.
    hits: Box<[f64]>,
    /// Their common one.
    common: Box<[f64]>,
    weights: [f64; MAX_HITS],
    /// One channel of the sum.
    audio: Box<[f32]>,
    /// Where its channels' fronts are, once they have been looked for.
    picks: Option<[Picks; CHANNELS]>,
}

impl WeightedAverage {
    pub(crate) fn new(rate: f64, samples: usize) -> Self {
        let length = ((BEFORE_S + AFTER_S) * rate) as usize;
        let [high_pass, low_pass] = attack_band(rate);
        Self {
            rate,
            high_pass,
            low_pass,
            length,
            hits: vec![0.0; MAX_HITS * length].into(),
            common: vec![0.0; length].into(),
            weights: [0.0; MAX_HITS],
            audio: vec![0.0; samples].into(),
            picks: None,
        }
    }

    /// The hits are not the same any more.
    pub(crate) fn clear(&mut self) {
        self.picks = None;
    }

    /// How much later the front of one voice's sum is in one channel than in another, in samples. It is picked around the
    /// voice's fronts; each hit counts by how loud it begins in the `reference` channel.
    pub(crate) fn lag<'a>(
        &mut self,
        kept: impl Iterator<Item = &'a KeptHit> + Clone,
        pattern: &Pattern,
        reference: usize,
        pair: Pair,
        picker: &mut OnsetPicker,
    ) -> Option<f64> {
        let begin = pattern[reference]?;
        if self.picks.is_none() {
            let mut all = [Picks::default(); CHANNELS];
            for (channel, all) in all.iter_mut().enumerate() {
                if let Some(front) = pattern[channel] {
                    self.gather(kept.clone(), channel, front, reference, begin);
                    self.weigh(kept.clone().count());
                    self.sum(kept.clone(), channel, reference, begin);
                    *all = pick_near(picker, &self.audio, front, self.rate);
                }
            }
            self.picks = Some(all);
        }
        let picks = self.picks.as_ref()?;
        picks::lag(&picks[pair.from], &picks[pair.to]).map(|lag| lag.0)
    }

    /// Writes the hits' attack bands around a channel's front.
    fn gather<'a>(
        &mut self,
        kept: impl Iterator<Item = &'a KeptHit>,
        channel: usize,
        front: f64,
        reference: usize,
        begin: f64,
    ) {
        let settle = (SETTLE_S * self.rate) as isize;
        for (hit, row) in kept.zip(self.hits.chunks_exact_mut(self.length)) {
            let gain = 1.0 / loudness(hit, reference, begin, self.rate);
            let from = (front - BEFORE_S * self.rate + hit.shift).round() as isize;
            let (mut high, mut low) = (self.high_pass, self.low_pass);
            let mut at = |n: isize| low.next(high.next(gain * sample(hit, channel, n)));
            (from - settle..from).for_each(|n| {
                at(n);
            });
            row.iter_mut().zip(from..).for_each(|(x, n)| *x = at(n));
        }
    }

    /// Weighs the first `count` hits: from what most of them are like, by what of each is not in the sum of the others.
    fn weigh(&mut self, count: usize) {
        let hits = || self.hits.chunks_exact(self.length).take(count);
        for (n, common) in self.common.iter_mut().enumerate() {
            let mut values = [0.0; MAX_HITS];
            let count = gather(hits().map(|hit| hit[n]), &mut values);
            *common = median(&mut values[..count]).unwrap_or(0.0);
        }
        self.weights = [0.0; MAX_HITS];
        // At first none is part of the sum.
        let mut all = f64::INFINITY;
        for _ in 0..ROUNDS {
            let least = ALIKE * energy(&self.common) + SILENT;
            for (hit, weight) in hits().zip(&mut self.weights) {
                let part = *weight / all;
                let left = hit.iter().zip(&self.common).map(|(x, sum)| {
                    let others = (sum - part * x) / (1.0 - part).max(f64::EPSILON);
                    (x - others).powi(2)
                });
                *weight = 1.0 / (left.sum::<f64>() + least);
            }
            all = self.weights.iter().sum();
            self.common.fill(0.0);
            for (hit, weight) in hits().zip(&self.weights) {
                let add = |(sum, x): (&mut f64, &f64)| *sum += weight / all * x;
                self.common.iter_mut().zip(hit).for_each(add);
            }
        }
    }

    /// Writes the weighed sum of one channel.
    fn sum<'a>(
        &mut self,
        kept: impl Iterator<Item = &'a KeptHit>,
        channel: usize,
        reference: usize,
        begin: f64,
    ) {
        let all = self.weights.iter().sum::<f64>();
        self.audio.fill(0.0);
        for (hit, weight) in kept.zip(self.weights) {
            let gain = (weight / all / loudness(hit, reference, begin, self.rate)) as f32;
            let later = hit.shift.round() as isize;
            let moved = |n: usize| (n as isize + later).try_into().ok();
            for (n, sum) in self.audio.iter_mut().enumerate() {
                let at: Option<usize> = moved(n);
                *sum += gain * at.and_then(|at| hit.audio[channel].get(at)).unwrap_or(&0.0);
            }
        }
    }
}

/// Level of a hit's beginning in its reference channel.
fn loudness(hit: &KeptHit, reference: usize, begin: f64, rate: f64) -> f64 {
    let step = step(rate);
    let from = ((begin + hit.shift).max(0.0) as usize) / step;
    let steps = hit.levels[reference].iter().skip(from);
    let energy = steps.take((LOUDNESS_S * rate) as usize / step);
    f64::from(energy.sum::<f32>()).sqrt().max(SILENT)
}

fn sample(hit: &KeptHit, channel: usize, n: isize) -> f64 {
    let n = usize::try_from(n).ok();
    n.and_then(|n| hit.audio[channel].get(n))
        .map_or(0.0, |x| f64::from(*x))
}

fn energy(x: &[f64]) -> f64 {
    x.iter().map(|x| x * x).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::channels::SPOT;
    use crate::measure::drums::common_front::{CommonFront, steps};

    const RATE: f64 = 48_000.0;
    const SAMPLES: usize = 3_000;
    const HITS: usize = 12;
    /// Where the front is in first, second and spot.
    const FRONTS: [usize; CHANNELS] = [1_040, 1_009, 900];

    /// A burst of noise that dies away in 5 ms.
    fn burst(random: &mut fastrand::Rng) -> Vec<f32> {
        let level = |n: usize| (-(n as f64) / (0.005 * RATE)).exp() as f32;
        (0..1_000)
            .map(|n| level(n) * (2.0 * random.f32() - 1.0))
            .collect()
    }

    fn add(audio: &mut [f32], at: usize, gain: f32, sound: &[f32]) {
        audio[at..]
            .iter_mut()
            .zip(sound)
            .for_each(|(sum, x)| *sum += gain * x);
    }

    /// The first `covered` hits have a sound as loud as their own up to 1 ms before the front or after, later in the second.
    fn hits(common_front: &CommonFront, strokes: &[Vec<f32>], covered: usize) -> Vec<KeptHit> {
        let mut random = fastrand::Rng::with_seed(7);
        let hit = |n: usize| {
            let mut hit = KeptHit::new(SAMPLES, steps(RATE, SAMPLES));
            for (channel, front) in FRONTS.into_iter().enumerate() {
                add(
                    &mut hit.audio[channel],
                    front,
                    1.0,
                    &strokes[n % strokes.len()],
                );
            }
            if n < covered {
                let hat = burst(&mut random);
                let before = random.usize(0..96);
                add(&mut hit.audio[0], FRONTS[0] + 48 - before, 1.0, &hat);
                add(&mut hit.audio[1], FRONTS[1] + 58 - before, 1.0, &hat);
            }
            for channel in 0..CHANNELS {
                common_front.level(&hit.audio[channel], &mut hit.levels[channel]);
            }
            hit
        };
        (0..HITS).map(hit).collect()
    }

    fn lag(strokes: &[Vec<f32>], covered: usize) -> Option<f64> {
        let hits = hits(&CommonFront::new(RATE, SAMPLES), strokes, covered);
        let mut picker = OnsetPicker::new(RATE, SAMPLES);
        let pattern = FRONTS.map(|front| Some(front as f64));
        let pair = Pair { from: 0, to: 1 };
        WeightedAverage::new(RATE, SAMPLES).lag(hits.iter(), &pattern, SPOT, pair, &mut picker)
    }

    #[test]
    fn hits_with_another_sound_on_their_front_hardly_count() {
        let stroke = burst(&mut fastrand::Rng::with_seed(1));
        let lag = lag(&[stroke], HITS - 3).expect("a lag");
        assert!((lag + 31.0).abs() < 0.1, "{lag}");
    }

    #[test]
    fn strokes_that_are_not_alike_still_arrive_when_they_do() {
        let mut random = fastrand::Rng::with_seed(2);
        let strokes: Vec<_> = (0..HITS).map(|_| burst(&mut random)).collect();
        let lag = lag(&strokes, 0).expect("a lag");
        assert!((lag + 31.0).abs() < 0.1, "{lag}");
    }

    #[test]
    fn silence_has_no_lag() {
        assert_eq!(lag(&[vec![0.0; 1_000]], 0), None);
    }
}
