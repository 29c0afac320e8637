//! Band-pass filters that do not ring ahead of a front, and the smoothing of a power over time.

use std::f64::consts::PI;

/// Edges of a band, Hz.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Edges {
    pub low_hz: f64,
    pub high_hz: f64,
}

/// First-order Butterworth high-pass and low-pass in one biquad (bilinear), direct form I: a constant input is silence from
/// the first sample on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BandPass {
    gain: f64,
    back: [f64; 2],
    x: [f64; 2],
    y: [f64; 2],
}

impl BandPass {
    pub(crate) fn new(edges: Edges, rate: f64) -> Self {
        let warp = |hz: f64| (PI * (hz / rate).min(0.45)).tan();
        let (low, high) = (
            warp(edges.low_hz.min(0.4 * edges.high_hz.min(0.45 * rate))),
            warp(edges.high_hz),
        );
        let (width, middle) = (high - low, high * low);
        let a0 = 1.0 + width + middle;
        Self {
            gain: width / a0,
            back: [2.0 * (middle - 1.0) / a0, (1.0 - width + middle) / a0],
            x: [0.0; 2],
            y: [0.0; 2],
        }
    }

    pub(crate) fn next(&mut self, x: f64) -> f64 {
        let y = self.gain * (x - self.x[1]) - self.back[0] * self.y[0] - self.back[1] * self.y[1];
        self.x = [x, self.x[0]];
        self.y = [y, self.y[0]];
        y
    }

    /// Filters samples in place as if the first of them had stood there for ever.
    pub(crate) fn run(mut self, samples: &mut [f32]) {
        let first = samples.first().map_or(0.0, |x| f64::from(*x));
        self.x = [first; 2];
        for sample in samples {
            *sample = self.next(f64::from(*sample)) as f32;
        }
    }
}

/// `x[n] - part * x[n-1]`: lifts the top of the spectrum, in place.
pub(crate) fn pre_emphasis(part: f32, samples: &mut [f32]) {
    let mut last = samples.first().copied().unwrap_or(0.0);
    for sample in samples {
        let x = *sample;
        *sample = x - part * last;
        last = x;
    }
}

/// Smooths a power with a triangle of twice `width` samples, ends as if silence followed.
pub(crate) fn smooth(power: &[f32], width: usize, scratch: &mut [f32], out: &mut [f32]) {
    let scratch = &mut scratch[..power.len()];
    let early = width / 2;
    moving_mean(power, width, early, scratch);
    moving_mean(scratch, width, width - 1 - early, out);
}

/// Mean of `width` samples of which `early` lie before.
fn moving_mean(x: &[f32], width: usize, early: usize, out: &mut [f32]) {
    let late = width - 1 - early;
    let scale = 1.0 / width as f64;
    let mut sum: f64 = x.iter().take(late).map(|x| f64::from(*x)).sum();
    for (n, out) in out.iter_mut().enumerate().take(x.len()) {
        if n + late < x.len() {
            sum += f64::from(x[n + late]);
        }
        if n > early {
            sum -= f64::from(x[n - early - 1]);
        }
        *out = (sum * scale).max(0.0) as f32;
    }
}
