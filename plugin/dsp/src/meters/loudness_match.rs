//! Loudness of two signals side by side, as they run: the gain that makes one as loud as the other.

use std::ops::Range;

use crate::meters::loudness::{ABSOLUTE_GATE, STEP_S, power};
use crate::meters::weighted_energy::WeightedEnergy;
use crate::units::sane_rate;

/// Steps of one gating block of 400 ms.
const STEPS: usize = 4;
/// Time in which an old block comes to count a third: the window of short-term loudness (EBU Tech 3341, 3 s).
const MEMORY_S: f64 = 3.0;
/// No gain beyond this either way, dB: what is farther apart is not the same programme. Common practice, no source.
const FARTHEST_DB: f64 = 24.0;
/// A signal that nowhere rises above this is silent: the absolute gate as an amplitude.
const SILENT: f32 = 3.2e-4;

/// How the two signals go on, up to the last sample.
#[derive(Clone, Copy, Debug)]
enum Course {
    /// They are weighted; for this many samples in a row, fewer than a step, they have been the same.
    Apart { same: usize },
    /// They have been the same for a step and longer; one sample of the present step was not silent.
    Same { loud: bool },
}

/// Measures two signals of one programme, K-weighted in blocks of 400 ms (ITU-R BS.1770-4), the last seconds counting
/// most. Silent blocks count for nothing, so that a pause leaves the gain as it is.
///
/// Two signals that have been one and the same for a step are as loud as each other, and nothing of them is weighted until
/// they part: the gain goes to 1 as it would if they were as loud as before. All of it hangs on the count of samples alone.
#[derive(Clone, Debug)]
pub struct LoudnessMatch {
    /// Of both signals in the present step.
    energy: WeightedEnergy,
    /// Samples of one step, and how many of the present one are done.
    step: usize,
    done: usize,
    /// Power of both in the last steps, the newest one last.
    steps: [[f64; 2]; STEPS],
    /// Steps to come before a block counts.
    lacking: usize,
    /// Power of both over the blocks that counted; `None` before the first.
    mean: Option<[f64; 2]>,
    course: Course,
    /// What is left of an old block after a step.
    keep: f64,
}

impl LoudnessMatch {
    /// Nothing heard yet.
    pub fn new(sample_rate: f64) -> Self {
        let sample_rate = sane_rate(sample_rate);
        Self {
            energy: WeightedEnergy::new(sample_rate),
            step: (STEP_S * sample_rate).round().max(1.0) as usize,
            done: 0,
            steps: [[0.0; 2]; STEPS],
            lacking: STEPS,
            mean: None,
            course: Course::Apart { same: 0 },
            keep: (-STEP_S / MEMORY_S).exp(),
        }
    }

    /// The same stretch of both signals, one or two channels of one length each.
    pub fn push(&mut self, signal: &[&[f32]], reference: &[&[f32]]) {
        let length = signal.iter().chain(reference).map(|c| c.len()).min();
        let mut rest = 0..length.unwrap_or(0);
        while !rest.is_empty() {
            let most = rest.len().min(self.step - self.done);
            rest.start += match self.course {
                Course::Same { loud } => {
                    self.push_same((signal, reference), rest.start..rest.start + most, loud)
                }
                Course::Apart { same } => {
                    // No farther than to the sample at which they may have been the same for a step.
                    let count = most.min(self.step - same);
                    self.push_weighted((signal, reference), rest.start..rest.start + count, same);
                    count
                }
            };
        }
    }

    /// Of signals that have been the same: how many of these samples still are. Where none is, they are weighted from here.
    fn push_same(
        &mut self,
        (signal, reference): Pair<'_>,
        part: Range<usize>,
        loud: bool,
    ) -> usize {
        let (begin, end) = (part.start, part.end);
        let differs = |n: &usize| !same(signal, reference, *n..n + 1);
        let count = match same(signal, reference, part.clone()) {
            true => end - begin,
            false => (begin..end).find(differs).unwrap_or(end) - begin,
        };
        if count == 0 {
            self.begin_weighting();
            return 0;
        }
        let heard = |channel: &&[f32]| is_loud(&channel[begin..begin + count]);
        let loud = loud || reference.iter().any(heard);
        self.done += count;
        self.course = match self.done == self.step {
            true => self.end_same_step(loud),
            false => Course::Same { loud },
        };
        count
    }

    /// `before`: samples in a row before these in which both were the same.
    fn push_weighted(&mut self, (signal, reference): Pair<'_>, part: Range<usize>, before: usize) {
        let count = part.len();
        let same = match same(signal, reference, part.clone()) {
            true => before + count,
            false => {
                let differs = |n: &usize| !same(signal, reference, *n..n + 1);
                let last = part.clone().rev().find(differs);
                last.map_or(count, |last| part.end - 1 - last)
            }
        };
        self.energy.add(signal, reference, part);
        self.done += count;
        if self.done == self.step {
            self.end_step();
        }
        self.course = Course::Apart { same };
        if same == self.step {
            self.done = 0;
            self.course = Course::Same { loud: false };
        }
    }

    /// The filters have heard nothing for a while: the step in which they settle does not count.
    fn begin_weighting(&mut self) {
        self.energy.reset();
        (self.done, self.lacking) = (0, STEPS + 1);
        self.course = Course::Apart { same: 0 };
    }

    /// A step in which both were the same, and how they go on.
    fn end_same_step(&mut self, loud: bool) -> Course {
        if let (Some([signal, reference]), true) = (self.mean, loud) {
            let signal = self.keep * signal + (1.0 - self.keep) * reference;
            self.mean = Some([signal, reference]);
        }
        self.done = 0;
        Course::Same { loud: false }
    }

    /// Amplitude that makes the signal as loud as the reference; `None` before 400 ms of both were heard.
    pub fn gain(&self) -> Option<f64> {
        let [signal, reference] = self.mean?;
        let most = 10f64.powf(FARTHEST_DB / 20.0);
        Some((reference / signal).sqrt().clamp(1.0 / most, most))
    }

    fn end_step(&mut self) {
        self.steps.rotate_left(1);
        self.steps[STEPS - 1] = self.energy.take().map(|sum| sum / self.step as f64);
        self.lacking = self.lacking.saturating_sub(1);
        self.done = 0;
        let block = [0, 1].map(|of| self.steps.iter().map(|step| step[of]).sum::<f64>());
        let block = block.map(|sum| sum / STEPS as f64);
        let loud = |block: &f64| *block > power(ABSOLUTE_GATE);
        if self.lacking == 0 && block.iter().all(loud) {
            let before = self.mean.unwrap_or(block);
            self.mean =
                Some([0, 1].map(|of| self.keep * before[of] + (1.0 - self.keep) * block[of]));
        }
    }
}

/// The two signals, one or two channels each.
type Pair<'a> = (&'a [&'a [f32]], &'a [&'a [f32]]);

/// Both are the same over these samples, to the bit.
fn same(signal: &[&[f32]], reference: &[&[f32]], part: Range<usize>) -> bool {
    let differing = |a: &[f32], b: &[f32]| {
        let pairs = a.iter().zip(b);
        pairs.fold(0, |bits, (a, b)| bits | (a.to_bits() ^ b.to_bits()))
    };
    let mut channels = signal.iter().zip(reference);
    channels.all(|(a, b)| differing(&a[part.clone()], &b[part.clone()]) == 0)
}

fn is_loud(channel: &[f32]) -> bool {
    let loud = |x: &f32| u32::from(x.abs() > SILENT);
    channel.iter().fold(0, |any, x| any | loud(x)) != 0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::noise::noise;
    use crate::meters::loudness::loudness_lkfs;

    const RATE: f64 = 48_000.0;

    fn scaled(audio: &[f32], gain: f32) -> Vec<f32> {
        audio.iter().map(|x| gain * x).collect()
    }

    fn matched(signal: &[&[f32]], reference: &[&[f32]]) -> Option<f64> {
        let mut meter = LoudnessMatch::new(RATE);
        meter.push(signal, reference);
        meter.gain()
    }

    #[test]
    fn it_is_the_difference_that_the_integrated_meter_reads() {
        // Noise of even level: what counts most does not matter. A reference that lost its treble by a mean of two.
        let signal = noise(480_000, 1);
        let dull: Vec<f32> = signal
            .windows(2)
            .map(|two| 0.3 * (two[0] + two[1]))
            .collect();
        let signal = &signal[1..];
        let gain = matched(&[signal], &[&dull]).unwrap();
        let read = |channel: &[f32]| loudness_lkfs(&[channel], RATE).unwrap();
        let want_db = read(&dull) - read(signal);
        let got_db = 20.0 * gain.log10();
        assert!((got_db - want_db).abs() < 0.05, "{got_db} for {want_db}");
    }

    #[test]
    fn blocks_make_no_difference_and_a_pause_leaves_the_gain() {
        let signal = noise(60_000, 2);
        let loud = scaled(&signal, 2.0);
        let mut meter = LoudnessMatch::new(RATE);
        for (a, b) in signal.chunks(37).zip(loud.chunks(37)) {
            meter.push(&[a, a], &[b, b]);
        }
        let whole = matched(&[&signal, &signal], &[&loud, &loud]);
        assert_eq!(meter.gain(), whole);
        assert!((whole.unwrap() - 2.0).abs() < 1e-6, "{whole:?}");
        meter.push(&[&[0.0; 480_000]], &[&[0.0; 480_000]]);
        // A block at the pause's beginning still holds some sound of both, in the same ratio.
        assert!(
            (meter.gain().unwrap() - 2.0).abs() < 1e-6,
            "{:?}",
            meter.gain()
        );
    }

    #[test]
    fn two_that_are_the_same_come_to_a_gain_of_one_and_a_common_pause_does_not() {
        let signal = noise(480_000, 5);
        let loud = scaled(&signal, 2.0);
        let mut meter = LoudnessMatch::new(RATE);
        meter.push(&[&signal], &[&loud]);
        assert!((meter.gain().unwrap() - 2.0).abs() < 1e-6);
        meter.push(&[&[0.0; 960_000]], &[&[0.0; 960_000]]);
        assert!((meter.gain().unwrap() - 2.0).abs() < 1e-6);
        let mut before = 2.0;
        for tenth in signal.chunks(4_800) {
            meter.push(&[tenth], &[tenth]);
            let gain = meter.gain().unwrap();
            assert!(gain <= before && gain > 0.9 * before, "{before} {gain}");
            before = gain;
        }
        assert!((before - 1.0).abs() < 0.06, "{before} after ten seconds");
        // They part again: what was measured of them counts as ever.
        (0..3).for_each(|_| meter.push(&[&signal], &[&loud]));
        assert!((meter.gain().unwrap() - 2.0).abs() < 1e-3);
    }

    #[test]
    fn blocks_make_no_difference_where_signals_part_and_meet() {
        let signal = noise(200_000, 6);
        let made: Vec<f32> = signal
            .iter()
            .enumerate()
            .map(|(n, x)| match n / 1_237 % 37 {
                // Short and long stretches of the same, single samples that differ, and pauses.
                0..12 => 0.5 * x,
                12..30 if n % 9_973 == 0 => -x,
                _ => *x,
            })
            .collect();
        let gains = |mut length: Box<dyn FnMut() -> usize>| {
            let mut meter = LoudnessMatch::new(RATE);
            let (mut at, mut gains) = (0, Vec::new());
            while at < signal.len() {
                let end = signal
                    .len()
                    .min(at + length())
                    .min((at / 5_000 + 1) * 5_000);
                let (a, b) = (&signal[at..end], &made[at..end]);
                meter.push(&[a, a], &[b, a]);
                if end.is_multiple_of(5_000) {
                    gains.push(meter.gain());
                }
                at = end;
            }
            gains
        };
        let whole = gains(Box::new(|| 5_000));
        assert!(whole.iter().flatten().any(|gain| (gain - 1.0).abs() > 0.01));
        let mut random = fastrand::Rng::with_seed(7);
        assert!(gains(Box::new(|| 1)) == whole);
        assert!(gains(Box::new(|| 64)) == whole);
        assert!(gains(Box::new(move || random.usize(1..900))) == whole);
    }

    #[test]
    fn another_level_is_followed_in_seconds_and_without_a_jump() {
        let mut meter = LoudnessMatch::new(RATE);
        let signal = noise(4_800, 3);
        let mut before = None;
        let mut largest = 0.0f64;
        for tenth in 0..200 {
            let level = if tenth < 100 { 1.0 } else { 2.0 };
            meter.push(&[&signal], &[&scaled(&signal, level)]);
            let db = meter.gain().map(|gain| 20.0 * gain.log10());
            if let (Some(before), Some(now)) = (before, db) {
                largest = largest.max(f64::abs(now - before));
            }
            before = db;
        }
        assert!(largest < 0.5, "{largest} dB in a tenth of a second");
        assert!((before.unwrap() - 6.02).abs() < 0.3, "{before:?}");
    }

    #[test]
    fn silence_scraps_and_absurd_levels() {
        let loud = noise(48_000, 4);
        assert_eq!(matched(&[&[0.0; 48_000]], &[&[0.0; 48_000]]), None);
        assert_eq!(matched(&[&loud], &[&[0.0; 48_000]]), None);
        assert_eq!(matched(&[&loud[..4_800]], &[&loud[..4_800]]), None);
        let faint = scaled(&loud, 1e-3);
        let most = 10f64.powf(FARTHEST_DB / 20.0);
        assert_eq!(matched(&[&faint], &[&loud]), Some(most));
        assert_eq!(matched(&[&loud], &[&faint]), Some(1.0 / most));
    }
}
