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
        }
    }

    /// Filters samples in place as if the first of them had stood there for ever.
    pub(crate) fn run(self, samples: &mut [f32]) {
        self.run_abreast(samples.as_chunks_mut::<1>().0);
    }

    /// The same of `N` signals side by side.
    pub(crate) fn run_abreast<const N: usize>(self, samples: &mut [[f32; N]]) {
        let first = samples.first().map_or([0.0; N], |x| x.map(f64::from));
        let (mut x, mut y) = ([first; 2], [[0.0; N]; 2]);
        for sample in samples {
            let now = sample.map(f64::from);
            let out: [f64; N] = std::array::from_fn(|k| {
                self.gain * (now[k] - x[1][k]) - self.back[0] * y[0][k] - self.back[1] * y[1][k]
            });
            x = [now, x[0]];
            y = [out, y[0]];
            *sample = out.map(|y| y as f32);
        }
    }
}

/// `x[n] - part * x[n-1]` of `N` signals side by side: lifts the top of the spectrum, in place.
pub(crate) fn pre_emphasis<const N: usize>(part: f32, samples: &mut [[f32; N]]) {
    let mut last = samples.first().copied().unwrap_or([0.0; N]);
    for sample in samples {
        let x = *sample;
        *sample = std::array::from_fn(|k| x[k] - part * last[k]);
        last = x;
    }
}

/// Smooths one power with a triangle of twice `width` samples, ends as if silence followed.
pub(crate) fn smooth_one(power: &[f32], width: usize, scratch: &mut [f32], out: &mut [f32]) {
    smooth(
        power.as_chunks::<1>().0,
        width,
        scratch.as_chunks_mut().0,
        out.as_chunks_mut().0,
    );
}

/// The same of `N` powers side by side.
pub(crate) fn smooth<const N: usize>(
    power: &[[f32; N]],
    width: usize,
    scratch: &mut [[f32; N]],
    out: &mut [[f32; N]],
) {
    let scratch = &mut scratch[..power.len()];
    let early = width / 2;
    moving_mean(power, width, early, scratch);
    moving_mean(scratch, width, width - 1 - early, out);
}

/// Mean of `width` samples of which `early` lie before.
fn moving_mean<const N: usize>(x: &[[f32; N]], width: usize, early: usize, out: &mut [[f32; N]]) {
    let late = width - 1 - early;
    let scale = 1.0 / width as f64;
    let mut sum = [0.0f64; N];
    let silence = [0.0; N];
    for x in x.iter().take(late) {
        slide(&mut sum, x, &silence);
    }
    for (n, out) in out.iter_mut().enumerate().take(x.len()) {
        let enters = x.get(n + late).unwrap_or(&silence);
        let leaves = n.checked_sub(early + 1).map_or(&silence, |n| &x[n]);
        slide(&mut sum, enters, leaves);
        *out = sum.map(|sum| (sum * scale).max(0.0) as f32);
    }
}

fn slide<const N: usize>(sum: &mut [f64; N], enters: &[f32; N], leaves: &[f32; N]) {
    for ((sum, enters), leaves) in sum.iter_mut().zip(enters).zip(leaves) {
        *sum += f64::from(*enters) - f64::from(*leaves);
    }
}
