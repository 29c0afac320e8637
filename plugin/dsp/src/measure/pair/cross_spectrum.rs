//! The lag between two signals, to a thousandth of a sample, from the phase of their cross-spectrum.
//!
//! Generalised correlation (Knapp & Carter 1976, IEEE Trans. ASSP-24(4)) searched in continuous time: the
//! correlation is a sum of cosines, so its peak is found by Newton's rule and not between three points of a grid.
//! Both windows sit at the signals' own places, given to a fraction of a sample: a pure delay changes nothing else.

use std::f64::consts::{PI, TAU};
use std::ops::Range;
use std::sync::Arc;

use realfft::num_complex::Complex64;
use realfft::{RealFftPlanner, RealToComplex};

/// Newton's rule has arrived when it moves by less, samples: each step squares what is left.
const SETTLED: f64 = 1e-6;

/// The part of the spectrum that is listened to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower edge, Hz: half-way up a slope of half an octave.
    pub low_hz: f64,
    /// Upper edge, Hz.
    pub high_hz: f64,
}

/// The part of the time, around a place in the signal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Raised-cosine rise before the place, seconds.
    pub rise_s: f64,
    /// Flat after the place, seconds.
    pub flat_s: f64,
    /// Raised-cosine fall after that, seconds.
    pub fall_s: f64,
}

impl Window {
    fn length_s(&self) -> f64 {
        self.rise_s + self.flat_s + self.fall_s
    }

    /// Multiplies samples by the window; the first of them lies `before` samples before the place.
    fn fade(&self, samples: &mut [f64], before: f64, rate: f64) {
        let (rise, flat, fall) = (self.rise_s * rate, self.flat_s * rate, self.fall_s * rate);
        let place = (before.ceil() as usize).min(samples.len());
        let falls = ((before + flat).ceil() as usize).clamp(place, samples.len());
        let (early, late) = samples.split_at_mut(falls);
        slope(&mut early[..place], -before / rise, 1.0 / rise);
        slope(late, (falls as f64 - before - flat) / fall, 1.0 / fall);
    }
}

/// Multiplies samples by the middle cycle of a raised cosine, 1 at zero and 0 from one on to either side; `from` is the
/// first sample's place and `step` the next one's distance.
fn slope(samples: &mut [f64], from: f64, step: f64) {
    let mut turn = Complex64::cis(PI * from);
    let turned = Complex64::cis(PI * step);
    for (n, sample) in samples.iter_mut().enumerate() {
        let inside = (from + n as f64 * step).abs() < 1.0;
        *sample *= if inside { 0.5 + 0.5 * turn.re } else { 0.0 };
        turn *= turned;
    }
}

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EstimatorSetup {
    /// Samples a second.
    pub rate: f64,
    /// Part of the time.
    pub window: Window,
    /// Part of the spectrum.
    pub band: Band,
    /// 0 = plain correlation, right for flat spectra in noise; 1 = phase alone.
    pub whitening: f64,
}

/// A signal and the place in it around which the window lies, in samples, any fraction.
#[derive(Clone, Copy, Debug)]
pub struct Placed<'a> {
    /// Samples; outside of them is silence.
    pub signal: &'a [f32],
    /// Where the window's flat part begins.
    pub at: f64,
}

/// Which peaks count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// Upright or upside down.
    Either,
    /// Upright only.
    Same,
    /// Upside down only.
    Inverted,
}

impl Way {
    fn height(self, correlation: f64) -> f64 {
        match self {
            Way::Either => correlation.abs(),
            Way::Same => correlation,
            Way::Inverted => -correlation,
        }
    }
}

/// Where to look for a peak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagSearch {
    /// Middle of the search, samples.
    pub centre: f64,
    /// Farthest from the middle, samples.
    pub radius: f64,
    /// Which peaks count.
    pub way: Way,
}

/// A peak of the correlation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LagPeak {
    /// Samples, positive: the second signal is later than the two places say.
    pub lag: f64,
    /// -1 to 1: part of the spectrum that agrees; negative when one signal is upside down.
    pub height: f64,
}

/// Plan and scratch for one window and one band.
pub struct DelayEstimator {
    setup: EstimatorSetup,
    plan: Arc<dyn RealToComplex<f64>>,
    bins: Range<usize>,
    slope: Box<[f64]>,
    input: Box<[f64]>,
    spectra: [Box<[Complex64]>; 2],
    scratch: Box<[Complex64]>,
    /// The weighted cross-spectrum of one pair of windows.
    cross: Box<[Complex64]>,
}

impl std::fmt::Debug for DelayEstimator {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("DelayEstimator")
            .field("setup", &self.setup)
            .finish()
    }
}

impl DelayEstimator {
    /// Plans transforms of twice the window, so that lags up to its length do not wrap.
    pub fn new(setup: EstimatorSetup) -> Self {
        let length =
            ((2.0 * setup.window.length_s() * setup.rate).ceil() as usize).next_power_of_two();
        let plan = RealFftPlanner::new().plan_fft_forward(length);
        let hz = |k: usize| k as f64 * setup.rate / length as f64;
        let slope = |k: usize| band_slope(hz(k), setup.band, setup.rate);
        let heard = |k: &usize| slope(*k) > 0.0;
        let first = (1..length / 2).find(heard).unwrap_or(1);
        let last = (1..length / 2).rev().find(heard).unwrap_or(1);
        Self {
            setup,
            bins: first..last + 1,
            slope: (first..=last).map(slope).collect(),
            input: plan.make_input_vec().into(),
            spectra: std::array::from_fn(|_| plan.make_output_vec().into()),
            scratch: plan.make_scratch_vec().into(),
            cross: vec![Complex64::default(); last + 1 - first].into(),
            plan,
        }
    }

    /// Bins of the cross-spectrum.
    pub fn bins(&self) -> usize {
        self.bins.len()
    }

    /// The bins' share of the spectrum from the bottom to `hz`.
    pub fn bins_below(&self, hz: f64) -> usize {
        let bin = (hz * self.input.len() as f64 / self.setup.rate) as usize;
        bin.clamp(self.bins.start, self.bins.end) - self.bins.start
    }

    /// The weighted cross-spectrum of two windows, scaled so that its magnitudes add up to one (or are all zero),
    /// added to `sum`, which has [`Self::bins`] entries. Louder signals do not weigh more.
    pub fn add_cross_spectrum(
        &mut self,
        first: Placed<'_>,
        second: Placed<'_>,
        sum: &mut [Complex64],
    ) {
        self.transform(0, first);
        self.transform(1, second);
        let [first, second] = &self.spectra;
        let mut top = 0.0f64;
        for (cross, k) in self.cross.iter_mut().zip(self.bins.clone()) {
            *cross = first[k] * second[k].conj();
            top = top.max(cross.norm_sqr());
        }
        let top = top.sqrt();
        if top <= f64::MIN_POSITIVE {
            return;
        }
        let mut total = 0.0;
        for (cross, slope) in self.cross.iter_mut().zip(&self.slope) {
            let g = *cross / top;
            // A bin 60 dB below the highest holds rounding, not phase.
            let whitened = match self.setup.whitening {
                0.0 => 1.0,
                whitening => g.norm_sqr().max(1e-6).powf(-0.5 * whitening),
            };
            *cross = g * whitened * *slope;
            total += cross.norm_sqr().sqrt();
        }
        for (sum, cross) in sum.iter_mut().zip(&self.cross) {
            *sum += cross / total;
        }
    }

    fn transform(&mut self, which: usize, placed: Placed<'_>) {
        let rate = self.setup.rate;
        let start = (placed.at - self.setup.window.rise_s * rate).ceil();
        let inside = (self.setup.window.length_s() * rate).ceil() as usize + 1;
        self.input.fill(0.0);
        let silent = (-start).max(0.0) as usize;
        let heard = placed.signal.iter().skip(start.max(0.0) as usize);
        let inside = &mut self.input[..inside];
        for (x, sample) in inside.iter_mut().skip(silent).zip(heard) {
            *x = f64::from(*sample);
        }
        self.setup.window.fade(inside, placed.at - start, rate);
        // Lengths are fixed in `new`: the transform cannot refuse.
        let _ = self.plan.process_with_scratch(
            &mut self.input,
            &mut self.spectra[which],
            &mut self.scratch,
        );
        let turn = TAU * (placed.at - start) / self.input.len() as f64;
        let step = Complex64::cis(turn);
        let mut turned = Complex64::cis(turn * self.bins.start as f64);
        for bin in &mut self.spectra[which][self.bins.clone()] {
            *bin *= turned;
            turned *= step;
        }
    }

    /// The correlation at a lag in samples, of the whole spectrum or a part of its bins.
    pub fn correlation(&self, spectrum: &[Complex64], part: Range<usize>, lag: f64) -> f64 {
        self.derivatives(spectrum, part, lag)[0]
    }

    /// The correlation of the whole spectrum at a lag in samples, against what it would be if all bins agreed.
    pub fn relative_correlation(&self, spectrum: &[Complex64], lag: f64) -> f64 {
        let most: f64 = spectrum.iter().map(|g| g.norm_sqr().sqrt()).sum();
        self.correlation(spectrum, 0..spectrum.len(), lag) / most.max(f64::MIN_POSITIVE)
    }

    /// Value, slope and curvature of the correlation.
    fn derivatives(&self, spectrum: &[Complex64], part: Range<usize>, lag: f64) -> [f64; 3] {
        let omega = TAU / self.input.len() as f64;
        let start = self.bins.start + part.start;
        let step = Complex64::cis(-omega * lag);
        let mut turn = Complex64::cis(-omega * lag * start as f64);
        let mut sums = [0.0; 3];
        for (k, g) in (start..).zip(&spectrum[part]) {
            let w = omega * k as f64;
            let r = g * turn;
            sums[0] += r.re;
            sums[1] += w * r.im;
            sums[2] -= w * w * r.re;
            turn *= step;
        }
        sums
    }

    /// The highest point within `radius` samples of `centre`, an edge of the search included.
    pub fn highest(
        &self,
        spectrum: &[Complex64],
        part: Range<usize>,
        search: LagSearch,
    ) -> LagPeak {
        // An eighth of the shortest cycle: fine enough that Newton's rule starts on the right slope.
        let step = self.setup.rate / (8.0 * self.setup.band.high_hz.min(0.5 * self.setup.rate));
        let steps = (search.radius / step).ceil().max(1.0) as i32;
        let lag = |i: i32| search.centre + search.radius * f64::from(i) / f64::from(steps);
        let height = |i: i32| {
            search
                .way
                .height(self.correlation(spectrum, part.clone(), lag(i)))
        };
        let higher = |a: (i32, f64), b: (i32, f64)| if b.1 > a.1 { b } else { a };
        let best = (-steps..=steps)
            .map(|i| (i, height(i)))
            .fold((0, f64::MIN), higher);
        let lag = self.climb(spectrum, part.clone(), lag(best.0), step, search.way);
        let lag = lag.clamp(search.centre - search.radius, search.centre + search.radius);
        LagPeak {
            lag,
            height: self.correlation(spectrum, part, lag),
        }
    }

    /// The highest peak inside the search. `None` when the correlation only climbs towards an edge: then the
    /// peak is another one.
    pub fn peak(
        &self,
        spectrum: &[Complex64],
        part: Range<usize>,
        search: LagSearch,
    ) -> Option<LagPeak> {
        let found = self.highest(spectrum, part, search);
        let inside = (found.lag - search.centre).abs() < search.radius * (1.0 - 1e-9);
        (inside && found.height != 0.0).then_some(found)
    }

    /// From a point near a peak to the peak, up or down as the point lies.
    fn climb(
        &self,
        spectrum: &[Complex64],
        part: Range<usize>,
        from: f64,
        step: f64,
        way: Way,
    ) -> f64 {
        let up = match way {
            Way::Either => self.correlation(spectrum, part.clone(), from).signum(),
            Way::Same => 1.0,
            Way::Inverted => -1.0,
        };
        let mut lag = from;
        for _ in 0..12 {
            let [_, slope, curve] = self.derivatives(spectrum, part.clone(), lag);
            // Beyond an inflection Newton's rule runs downhill: take a plain step up instead.
            let newton = if curve * up < 0.0 {
                -slope / curve
            } else {
                step * (slope * up).signum()
            };
            lag += newton.clamp(-step, step);
            if newton.abs() < SETTLED {
                break;
            }
        }
        lag
    }
}

/// Raised-cosine slopes of half an octave on a logarithmic scale, closed at half the rate.
fn band_slope(hz: f64, band: Band, rate: f64) -> f64 {
    let octaves = |from: f64, to: f64| (to / from).log2();
    let rise = |octaves: f64| 0.5 - 0.5 * (PI * (octaves / 0.5 + 0.5).clamp(0.0, 1.0)).cos();
    rise(octaves(band.low_hz, hz)) * rise(octaves(hz, band.high_hz.min(0.45 * rate)))
}
