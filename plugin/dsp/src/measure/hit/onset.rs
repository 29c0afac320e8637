//! Picks when a wavefront first reaches a microphone: several bands, several thresholds, to a fraction of a sample.
//!
//! First breaks, as a seismologist would say (Allen 1978, Bull. Seism. Soc. Am. 68, picks by level; from memory):
//! the signal is filtered by causal filters, so that nothing rings ahead of the front, and each pick is where the
//! filtered signal first passes a part of its own first peak.

use std::sync::Arc;

use realfft::num_complex::Complex64;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

/// High-pass corners. The attack of every drum reaches up here (stick, beater), the body's cycles do not.
const BANDS_HZ: [f64; 3] = [1_000.0, 2_000.0, 4_000.0];
/// Above 9 kHz converters' leaks between channels and cymbals begin.
const TOP_HZ: f64 = 9_000.0;
/// Parts of the first peak. Lower ones drown in noise, higher ones meet the second wavefront.
const THRESHOLDS: [f64; 4] = [0.10, 0.20, 0.35, 0.50];
/// The first peak is looked for this long after the first sign: one cycle of the lowest band, and earlier than
/// the first reflection of a microphone 1 m from anything (0.8 ms and more).
pub(crate) const FIRST_PEAK_S: f64 = 0.001;
/// First sign: 26 dB below the highest of the search. A wavefront softer than that against what follows is not heard.
const FIRST_SIGN: f64 = 0.05;
/// First sign and every threshold must also stand this far above the noise's rms: Gaussian noise passes 5 sigma
/// once in 2 million samples, 2.5 sigma once in 80.
const SIGN_OVER_NOISE: f64 = 4.0;
const PICK_OVER_NOISE: f64 = 2.5;
/// A first peak 30 dB above what was heard before it is as clear as can be.
pub(crate) const CLEAREST: f64 = 30.0;
/// Filtered signals are drawn this much finer, so that a crossing between two points is a straight line.
const FINER: usize = 4;

/// Picks of one channel of one hit.
pub(crate) const PICKS: usize = BANDS_HZ.len() * THRESHOLDS.len();

/// One crossing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pick {
    /// Samples from the segment's start.
    pub at: f64,
    /// Which way the front pushed in that band.
    pub positive: bool,
    /// How far the first peak stands above what was heard before it, amplitude ratio, at most [`CLEAREST`].
    pub clear: f64,
}

/// All crossings found, in a fixed order, so that the same picker of two channels can be compared.
pub(crate) type Picks = [Option<Pick>; PICKS];

/// Where in a segment to look, in samples from its start.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Search {
    /// Noise is measured from here ...
    pub noise_from: usize,
    /// ... to here, and from here on the front may come ...
    pub from: usize,
    /// ... until here; a later first sign is another sound's.
    pub latest: usize,
    /// The highest level is looked for until here.
    pub to: usize,
}

/// Filters, plans and scratch for segments of up to a fixed length.
pub(crate) struct ArrivalPicker {
    forward: Arc<dyn RealToComplex<f64>>,
    inverse: Arc<dyn ComplexToReal<f64>>,
    responses: [Box<[Complex64]>; BANDS_HZ.len()],
    input: Box<[f64]>,
    spectrum: Box<[Complex64]>,
    banded: Box<[Complex64]>,
    /// The segment in each band, drawn finer.
    fine: [Box<[f64]>; BANDS_HZ.len()],
    scratch_forward: Box<[Complex64]>,
    scratch_inverse: Box<[Complex64]>,
    first_peak: usize,
}

impl std::fmt::Debug for ArrivalPicker {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ArrivalPicker")
            .field("length", &self.input.len())
            .finish()
    }
}

impl ArrivalPicker {
    pub(crate) fn new(rate: f64, segment: usize) -> Self {
        let length = (segment + segment / 8).next_power_of_two();
        let mut planner = RealFftPlanner::new();
        let forward = planner.plan_fft_forward(length);
        let inverse = planner.plan_fft_inverse(length * FINER);
        Self {
            responses: BANDS_HZ.map(|low| response(low, rate, length)),
            input: forward.make_input_vec().into(),
            spectrum: forward.make_output_vec().into(),
            banded: inverse.make_input_vec().into(),
            fine: BANDS_HZ.map(|_| inverse.make_output_vec().into()),
            scratch_forward: forward.make_scratch_vec().into(),
            scratch_inverse: inverse.make_scratch_vec().into(),
            first_peak: (FIRST_PEAK_S * rate) as usize * FINER,
            forward,
            inverse,
        }
    }

    /// Draws `segment`, whose fronts are picked from now on.
    pub(crate) fn draw(&mut self, segment: &[f32]) {
        self.transform(segment);
        for band in 0..BANDS_HZ.len() {
            self.draw_band(band);
        }
    }

    /// Picks the first front inside `search`.
    pub(crate) fn pick(&self, search: Search) -> Picks {
        let mut picks = [None; PICKS];
        for (fine, picks) in self
            .fine
            .iter()
            .zip(picks.chunks_exact_mut(THRESHOLDS.len()))
        {
            pick_band(fine, self.first_peak, search, picks);
        }
        picks
    }

    fn transform(&mut self, segment: &[f32]) {
        let fade = self.input.len() / 64;
        self.input.fill(0.0);
        for (n, (x, s)) in self.input.iter_mut().zip(segment).enumerate() {
            let edge = n.min(segment.len() - 1 - n).min(fade) as f64 / fade as f64;
            *x = f64::from(*s) * edge;
        }
        // Lengths are fixed in `new`, so the transforms cannot refuse; a refusal would leave the last hit's spectrum.
        let _ = self.forward.process_with_scratch(
            &mut self.input,
            &mut self.spectrum,
            &mut self.scratch_forward,
        );
    }

    fn draw_band(&mut self, band: usize) {
        self.banded.fill(Complex64::default());
        let scale = 1.0 / self.input.len() as f64;
        for ((y, x), h) in self
            .banded
            .iter_mut()
            .zip(&self.spectrum)
            .zip(&self.responses[band])
        {
            *y = x * h * scale;
        }
        self.banded[0].im = 0.0;
        let _ = self.inverse.process_with_scratch(
            &mut self.banded,
            &mut self.fine[band],
            &mut self.scratch_inverse,
        );
    }
}

fn pick_band(fine: &[f64], first_peak: usize, search: Search, picks: &mut [Option<Pick>]) {
    let noise = &fine[search.noise_from * FINER..search.from * FINER];
    let noise = (noise.iter().map(|x| x * x).sum::<f64>() / noise.len().max(1) as f64).sqrt();
    let from = search.from * FINER;
    let heard = &fine[from..search.to * FINER];
    let highest = peak(heard);
    let sign = (FIRST_SIGN * highest).max(SIGN_OVER_NOISE * noise);
    let Some(first) = heard.iter().position(|x| x.abs() > sign) else {
        return;
    };
    let first = from + first;
    if first > search.latest * FINER {
        return;
    }
    let end = (first + first_peak).min(fine.len());
    let top = peak(&fine[first..end]);
    // The lowest threshold may lie below the first sign: look a little earlier too.
    let early = first.saturating_sub(first_peak / 2).max(1);
    for (pick, part) in picks.iter_mut().zip(THRESHOLDS) {
        let level = part * top;
        if level > PICK_OVER_NOISE * noise {
            let clear = CLEAREST.min(top / noise.max(f64::MIN_POSITIVE));
            *pick = crossing(&fine[..end], early, level).map(|(at, positive)| Pick {
                at,
                positive,
                clear,
            });
        }
    }
}

/// Where a level is first passed, in samples, and which way.
fn crossing(fine: &[f64], early: usize, level: f64) -> Option<(f64, bool)> {
    let at = early + fine[early..].iter().position(|x| x.abs() > level)?;
    let (before, after) = (fine[at - 1].abs(), fine[at].abs());
    let part = if after > before {
        ((level - before) / (after - before)).clamp(0.0, 1.0)
    } else {
        1.0
    };
    Some(((at as f64 - 1.0 + part) / FINER as f64, fine[at] > 0.0))
}

fn peak(x: &[f64]) -> f64 {
    x.iter().fold(0.0, |top, x| x.abs().max(top))
}

/// Second-order Butterworth high-pass and low-pass in a row, bilinear, so that nothing rings ahead of a front.
fn response(low_hz: f64, rate: f64, length: usize) -> Box<[Complex64]> {
    let warp = |hz: f64| (std::f64::consts::PI * (hz / rate).min(0.4999)).tan();
    let (low, high) = (warp(low_hz.min(0.25 * rate)), warp(TOP_HZ.min(0.45 * rate)));
    let second = |s: Complex64| s * s + std::f64::consts::SQRT_2 * s + 1.0;
    let bin = |k: usize| {
        let f = Complex64::i() * warp(k as f64 * rate / length as f64);
        (f / low).powi(2) / second(f / low) / second(f / high)
    };
    (0..=length / 2).map(bin).collect()
}
