//! What a hit sounds like: how much energy lies low and high.

use std::sync::Arc;

use realfft::num_complex::Complex64;
use realfft::{RealFftPlanner, RealToComplex};

/// A drum's first 30 ms tell it from the others; later the room does.
const WINDOW_S: f64 = 0.030;
/// Shells and heads ring here ...
const LOW_HZ: [f64; 2] = [60.0, 1_000.0];
/// ... wires, sticks and cymbals here.
const HIGH_HZ: [f64; 2] = [2_000.0, 9_000.0];

/// Below lies the first mode of kick drums and large toms, above that of snares and small toms.
const DEEP_HZ: [f64; 2] = [40.0, 130.0];
const NOT_DEEP_HZ: [f64; 2] = [130.0, 1_000.0];
/// Less than a thousandth below, 30 dB, is no mode of the drum's but the stroke's chance: nothing to tell drums by.
const NO_MODE: f64 = 1e-3;

/// Energies of one window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Sound {
    /// 60 Hz to 1 kHz.
    pub low: f64,
    /// 2 to 9 kHz.
    pub high: f64,
    /// 40 to 130 Hz.
    pub deep: f64,
    /// 130 Hz to 1 kHz.
    pub not_deep: f64,
}

impl Sound {
    /// High to low, dB.
    pub(crate) fn brightness_db(&self) -> f64 {
        ratio_db(self.high, self.low)
    }

    /// First mode below to above 130 Hz, dB.
    pub(crate) fn depth_db(&self) -> f64 {
        ratio_db(self.deep + NO_MODE * self.not_deep, self.not_deep)
    }
}

fn ratio_db(a: f64, b: f64) -> f64 {
    10.0 * ((a + f64::MIN_POSITIVE) / (b + f64::MIN_POSITIVE)).log10()
}

/// Plan and scratch.
pub(crate) struct Listener {
    plan: Arc<dyn RealToComplex<f64>>,
    hz_a_bin: f64,
    window: usize,
    input: Box<[f64]>,
    spectrum: Box<[Complex64]>,
    scratch: Box<[Complex64]>,
}

impl std::fmt::Debug for Listener {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Listener")
            .field("window", &self.window)
            .finish()
    }
}

impl Listener {
    pub(crate) fn new(rate: f64) -> Self {
        let window = (WINDOW_S * rate) as usize;
        let plan = RealFftPlanner::new().plan_fft_forward(window.next_power_of_two());
        Self {
            hz_a_bin: rate / window.next_power_of_two() as f64,
            window,
            input: plan.make_input_vec().into(),
            spectrum: plan.make_output_vec().into(),
            scratch: plan.make_scratch_vec().into(),
            plan,
        }
    }

    /// The 30 ms from `from` on, faded out by a half cosine.
    pub(crate) fn hear(&mut self, audio: &[f32], from: usize) -> Sound {
        self.input.fill(0.0);
        let heard = audio[from.min(audio.len())..].iter().take(self.window);
        for (n, (x, sample)) in self.input.iter_mut().zip(heard).enumerate() {
            let part = std::f64::consts::PI * n as f64 / self.window as f64;
            *x = f64::from(*sample) * (0.5 + 0.5 * part.cos());
        }
        // Lengths are fixed in `new`: the transform cannot refuse.
        let _ =
            self.plan
                .process_with_scratch(&mut self.input, &mut self.spectrum, &mut self.scratch);
        Sound {
            low: self.energy(LOW_HZ),
            high: self.energy(HIGH_HZ),
            deep: self.energy(DEEP_HZ),
            not_deep: self.energy(NOT_DEEP_HZ),
        }
    }

    fn energy(&self, [from, to]: [f64; 2]) -> f64 {
        let bin = |hz: f64| ((hz / self.hz_a_bin) as usize).min(self.spectrum.len());
        self.spectrum[bin(from)..bin(to)]
            .iter()
            .map(|x| x.norm_sqr())
            .sum()
    }
}
