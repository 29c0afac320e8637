//! Loudness of a stretch of audio as ITU-R BS.1770-4 has it: K-weighting, 400 ms blocks, two gates.
//!
//! A delay or a turned polarity leaves the loudness of a stereo pair as it is; its mono sum gets louder when the pair
//! comes together. Comparing before and after at one loudness takes this number out.

use std::f64::consts::PI;

use crate::math::biquad::Biquad;

/// BS.1770-4: a block under this is silence, LKFS.
pub(super) const ABSOLUTE_GATE: f64 = -70.0;
/// BS.1770-4: a block this far under the mean of the others does not count, LU.
const RELATIVE_GATE: f64 = -10.0;
/// BS.1770-4: gain of the weighting at 997 Hz, taken out.
const OFFSET: f64 = -0.691;
/// Part of a gating block: blocks of 400 ms overlap by 75 %.
pub(super) const STEP_S: f64 = 0.1;

/// Integrated loudness of front channels, LKFS; `None` when nothing is above the gates or it is under 400 ms long.
pub fn loudness_lkfs(channels: &[&[f32]], sample_rate: f64) -> Option<f64> {
    let step = (STEP_S * sample_rate).round().max(1.0) as usize;
    let mut steps = Vec::new();
    for channel in channels {
        add_steps(&mut steps, channel, step, sample_rate);
    }
    let blocks: Vec<f64> = steps
        .windows(4)
        .map(|w| w.iter().sum::<f64>() / 4.0)
        .collect();
    let loud = mean_above(&blocks, power(ABSOLUTE_GATE))?;
    let gate = power(level(loud) + RELATIVE_GATE).max(power(ABSOLUTE_GATE));
    mean_above(&blocks, gate).map(level)
}

/// Adds the channel's weighted power of every step to `steps`.
fn add_steps(steps: &mut Vec<f64>, channel: &[f32], step: usize, sample_rate: f64) {
    let mut filter = KWeighting::new(sample_rate);
    for (index, samples) in channel.chunks_exact(step).enumerate() {
        let sum: f64 = samples
            .iter()
            .map(|&x| filter.next(f64::from(x)).powi(2))
            .sum();
        if index == steps.len() {
            steps.push(0.0);
        }
        steps[index] += sum / step as f64;
    }
}

fn mean_above(blocks: &[f64], gate: f64) -> Option<f64> {
    let above = blocks.iter().filter(|power| **power > gate);
    let (count, sum) = above.fold((0, 0.0), |(count, sum), power| (count + 1, sum + power));
    (count > 0).then(|| sum / f64::from(count))
}

fn level(power: f64) -> f64 {
    OFFSET + 10.0 * power.log10()
}

/// Weighted power of a loudness in LKFS.
pub(super) fn power(level: f64) -> f64 {
    10f64.powf((level - OFFSET) / 10.0)
}

/// The two filters of BS.1770-4 annex 1, at any rate.
#[derive(Clone, Debug)]
struct KWeighting {
    shelf: Biquad,
    high_pass: Biquad,
}

impl KWeighting {
    fn new(sample_rate: f64) -> Self {
        Self {
            shelf: head_shelf(sample_rate),
            high_pass: low_cut(sample_rate),
        }
    }

    fn next(&mut self, sample: f64) -> f64 {
        self.high_pass.next(self.shelf.next(sample))
    }
}

/// Both filters as coefficients b₀, b₁, b₂ and a₁, a₂, in the order of the signal.
pub(super) fn weighting(sample_rate: f64) -> [([f64; 3], [f64; 2]); 2] {
    [head_shelf(sample_rate), low_cut(sample_rate)].map(|filter| filter.coefficients())
}

/// The shelf of a rigid head. Analogue values that give the 48 kHz table of BS.1770-4 (as open implementations of it
/// derive them): 1682 Hz, +4 dB.
fn head_shelf(sample_rate: f64) -> Biquad {
    let (hz, gain_db, q) = (
        1_681.974_450_955_533,
        3.999_843_853_973_347,
        0.707_175_236_955_419_6,
    );
    let k = (PI * hz / sample_rate).tan();
    let high = 10f64.powf(gain_db / 20.0);
    let band = high.powf(0.499_666_774_154_541_6);
    let numerator = [
        high + band * k / q + k * k,
        2.0 * (k * k - high),
        high - band * k / q + k * k,
    ];
    Biquad::new(numerator, denominator(k, q))
}

/// The low cut, 38 Hz, from the same derivation; the standard does not scale its numerator.
fn low_cut(sample_rate: f64) -> Biquad {
    let (hz, q) = (38.135_470_876_024_44, 0.500_327_037_323_877_3);
    let k = (PI * hz / sample_rate).tan();
    let [a0, a1, a2] = denominator(k, q);
    Biquad::new([1.0, -2.0, 1.0], [1.0, a1 / a0, a2 / a0])
}

/// Of a resonance of quality `q` at tan(π hz / sample rate) = `k`, by the bilinear transform.
fn denominator(k: f64, q: f64) -> [f64; 3] {
    [
        1.0 + k / q + k * k,
        2.0 * (k * k - 1.0),
        1.0 - k / q + k * k,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_filters_are_the_published_ones_at_48_khz() {
        // ITU-R BS.1770-4, tables 1 and 2.
        let (shelf_b, shelf_a) = head_shelf(48_000.0).coefficients();
        let (_, low_cut_a) = low_cut(48_000.0).coefficients();
        let table = [
            (shelf_b[0], 1.535_124_859_586_97),
            (shelf_b[1], -2.691_696_189_406_38),
            (shelf_b[2], 1.198_392_810_852_85),
            (shelf_a[0], -1.690_659_293_182_41),
            (shelf_a[1], 0.732_480_774_215_85),
            (low_cut_a[0], -1.990_047_454_833_98),
            (low_cut_a[1], 0.990_072_250_366_21),
        ];
        for (got, want) in table {
            assert!((got - want).abs() < 1e-6, "{got} instead of {want}");
        }
    }

    #[test]
    fn silence_and_scraps_have_no_loudness() {
        assert_eq!(loudness_lkfs(&[&[0.0; 48_000]], 48_000.0), None);
        assert_eq!(loudness_lkfs(&[&[0.5; 100]], 48_000.0), None);
        assert_eq!(loudness_lkfs(&[], 48_000.0), None);
    }
}
