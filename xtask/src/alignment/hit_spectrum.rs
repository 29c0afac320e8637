//! Spectrum of the pair over the hits: loss of the mono sum per third octave, and the lag curve.

use std::ops::RangeInclusive;
use std::sync::Arc;

use plumbline_dsp::meters::correlation::Powers;
use plumbline_dsp::meters::mono_sum_loss::{BANDS, band_edges_hz, band_hz, mono_sum_loss_db};
use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

/// Seconds over which a stretch fades in and out: short against the drum, long against the wavefront.
const FADE_S: f64 = 0.0015;

/// Band of the lag curve, Hz: from a snare's lowest mode to where overheads still agree.
const LAG_BAND_HZ: RangeInclusive<f64> = 200.0..=9000.0;

/// How far the lag curve's spectrum is whitened: 0 not at all, 1 wholly. Between, the drum's loud low modes do not hide
/// its wavefront (the weighting of Knapp & Carter 1976, table I, raised to a power).
const WHITENING: f64 = 0.7;

/// Points of the lag curve a sample: straight lines between them are then smooth to the eye at the band's top.
const UPSAMPLING: usize = 4;

/// Powers and cross-power summed over the hits.
pub struct HitSpectrum {
    sample_rate: f64,
    forward: Arc<dyn RealToComplex<f32>>,
    /// Raised-cosine ends, flat between, as long as a stretch.
    fade: Vec<f32>,
    padded: Vec<f32>,
    spectra: [Vec<Complex<f32>>; 2],
    /// Sum over the hits of the first's power, per bin.
    first: Vec<f64>,
    /// Sum of the second's power.
    second: Vec<f64>,
    /// Sum of conj(first) x second.
    cross: Vec<Complex<f64>>,
}

/// The mono sum against what two coherent channels would give.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BandLoss {
    /// Middle of the third octave, Hz.
    pub hz: f64,
    /// 0 when the two add fully, negative when they cancel, dB.
    pub loss_db: f64,
}

/// Correlation of the hits at one lag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagPoint {
    /// Second minus first, seconds.
    pub lag_s: f64,
    /// -1 to 1.
    pub correlation: f64,
}

impl HitSpectrum {
    /// For stretches of `length` frames.
    pub fn new(sample_rate: f64, length: usize) -> Self {
        // Twice the stretch: lags do not wrap.
        let size = (2 * length).next_power_of_two();
        let forward = RealFftPlanner::<f32>::new().plan_fft_forward(size);
        let bins = size / 2 + 1;
        Self {
            sample_rate,
            fade: fade(length, (FADE_S * sample_rate).round() as usize),
            padded: vec![0.0; size],
            spectra: [forward.make_output_vec(), forward.make_output_vec()],
            forward,
            first: vec![0.0; bins],
            second: vec![0.0; bins],
            cross: vec![Complex::default(); bins],
        }
    }

    /// Adds one hit's stretch of both channels.
    pub fn add(&mut self, first: &[f32], second: &[f32]) {
        self.transform(0, first);
        self.transform(1, second);
        for bin in 0..self.cross.len() {
            let (a, b) = (to_f64(self.spectra[0][bin]), to_f64(self.spectra[1][bin]));
            self.first[bin] += a.norm_sqr();
            self.second[bin] += b.norm_sqr();
            self.cross[bin] += a.conj() * b;
        }
    }

    fn transform(&mut self, channel: usize, samples: &[f32]) {
        self.padded.fill(0.0);
        for ((padded, sample), fade) in self.padded.iter_mut().zip(samples).zip(&self.fade) {
            *padded = sample * fade;
        }
        // Cannot fail: both buffers came from the plan.
        let _ = self
            .forward
            .process(&mut self.padded, &mut self.spectra[channel]);
    }

    /// Power of first + second over all frequencies and hits; only ratios of two such numbers mean anything.
    pub fn sum_power(&self) -> f64 {
        self.powers(0..self.cross.len()).sum()
    }

    /// Loss of the mono sum in each third octave from 31.5 Hz to 5 kHz that was recorded.
    pub fn band_losses(&self) -> Vec<BandLoss> {
        (0..BANDS)
            .map(|band| (band_hz(band), band_edges_hz(band)))
            .filter(|(_, [_, top_hz])| *top_hz < self.sample_rate / 2.0)
            .map(|(hz, [from_hz, top_hz])| BandLoss {
                hz,
                loss_db: mono_sum_loss_db(self.powers(self.bins(from_hz, top_hz))),
            })
            .collect()
    }

    /// The lag curve from `-reach_s` to `reach_s`: correlation of the hits, 200 Hz to 9 kHz.
    pub fn lag_curve(&self, reach_s: f64, points: usize) -> Vec<LagPoint> {
        let curve = self.correlation();
        let size = self.padded.len() as f64;
        (0..points)
            .map(|point| {
                let lag_s = reach_s * (2.0 * point as f64 / (points - 1) as f64 - 1.0);
                let position = (lag_s * self.sample_rate * UPSAMPLING as f64)
                    .rem_euclid(size * UPSAMPLING as f64);
                LagPoint {
                    lag_s,
                    correlation: between(&curve, position),
                }
            })
            .collect()
    }

    /// Circular correlation with the spectrum whitened, `UPSAMPLING` points a sample.
    fn correlation(&self) -> Vec<f64> {
        let band = self.bins(*LAG_BAND_HZ.start(), *LAG_BAND_HZ.end());
        let backward =
            RealFftPlanner::<f64>::new().plan_fft_inverse(self.padded.len() * UPSAMPLING);
        let mut spectrum = backward.make_input_vec();
        let mut whole = 0.0;
        for bin in band {
            let power = (self.first[bin] * self.second[bin])
                .sqrt()
                .max(f64::MIN_POSITIVE);
            let whitened = power.powf(-WHITENING);
            spectrum[bin] = 0.5 * whitened * self.cross[bin];
            whole += whitened * power;
        }
        let mut curve = backward.make_output_vec();
        let _ = backward.process(&mut spectrum, &mut curve);
        curve
            .iter_mut()
            .for_each(|point| *point /= whole.max(f64::MIN_POSITIVE));
        curve
    }

    fn bins(&self, from_hz: f64, to_hz: f64) -> std::ops::Range<usize> {
        let per_hz = self.padded.len() as f64 / self.sample_rate;
        let last = self.cross.len() - 1;
        let from = ((from_hz * per_hz).ceil() as usize).clamp(1, last);
        from..((to_hz * per_hz).ceil() as usize).clamp(from, last)
    }

    /// Sums over some bins; what is shared is the real part of the cross-power.
    fn powers(&self, bins: std::ops::Range<usize>) -> Powers {
        Powers {
            first: self.first[bins.clone()].iter().sum(),
            second: self.second[bins.clone()].iter().sum(),
            shared: self.cross[bins].iter().map(|cross| cross.re).sum(),
        }
    }
}

fn to_f64(value: Complex<f32>) -> Complex<f64> {
    Complex::new(f64::from(value.re), f64::from(value.im))
}

fn fade(length: usize, edge: usize) -> Vec<f32> {
    (0..length)
        .map(|n| {
            let inside = (n + 1).min(length - n).min(edge + 1) as f32 / (edge + 1) as f32;
            0.5 - 0.5 * (std::f32::consts::PI * inside).cos()
        })
        .collect()
}

fn between(curve: &[f64], position: f64) -> f64 {
    let (left, part) = (position.floor() as usize, position.fract());
    curve[left % curve.len()] * (1.0 - part) + curve[(left + 1) % curve.len()] * part
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48_000.0;
    const LENGTH: usize = 3456;

    fn noise(seed: u64) -> Vec<f32> {
        let mut random = fastrand::Rng::with_seed(seed);
        (0..LENGTH + 100).map(|_| random.f32() - 0.5).collect()
    }

    #[test]
    fn equal_channels_lose_nothing_and_a_reversed_cable_loses_all() {
        let drum = noise(1);
        let negated: Vec<f32> = drum.iter().map(|sample| -sample).collect();
        let mut same = HitSpectrum::new(RATE, LENGTH);
        let mut reversed = HitSpectrum::new(RATE, LENGTH);
        same.add(&drum[..LENGTH], &drum[..LENGTH]);
        reversed.add(&drum[..LENGTH], &negated[..LENGTH]);
        assert!(
            same.band_losses()
                .iter()
                .all(|band| band.loss_db.abs() < 1e-6)
        );
        assert!(
            reversed
                .band_losses()
                .iter()
                .all(|band| band.loss_db < -50.0)
        );
        assert!(reversed.sum_power() < 1e-6 * same.sum_power());
    }

    #[test]
    fn the_lag_curve_peaks_where_the_second_is_later() {
        let drum = noise(2);
        let mut late = HitSpectrum::new(RATE, LENGTH);
        late.add(&drum[24..24 + LENGTH], &drum[..LENGTH]);
        let curve = late.lag_curve(0.001, 401);
        let peak = curve
            .iter()
            .max_by(|a, b| a.correlation.total_cmp(&b.correlation))
            .unwrap();
        assert!(
            (peak.lag_s * RATE - 24.0).abs() <= 0.15,
            "peak at {} samples",
            peak.lag_s * RATE
        );
        assert!(
            peak.correlation > 0.95 && peak.correlation <= 1.0,
            "correlation {}",
            peak.correlation
        );
    }

    #[test]
    fn a_pure_delay_of_half_a_period_cancels_its_third_octave() {
        // Half a period at 1 kHz is 24 samples: the 1 kHz band nearly vanishes, 100 Hz is hardly touched.
        let drum = noise(3);
        let mut late = HitSpectrum::new(RATE, LENGTH);
        late.add(&drum[24..24 + LENGTH], &drum[..LENGTH]);
        let losses = late.band_losses();
        let at = |hz: f64| {
            losses
                .iter()
                .find(|band| (band.hz / hz - 1.0).abs() < 0.02)
                .unwrap()
                .loss_db
        };
        assert!(at(1000.0) < -12.0, "{}", at(1000.0));
        assert!(at(100.0) > -0.5, "{}", at(100.0));
        assert_eq!(losses.len(), 23);
    }
}
