//! The playback head at long wavelengths: a bump where the wave is as long as the head's face, and a roll-off below.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

/// Bump at 38.1 cm/s, hertz: it lies at one wavelength, so it goes with the speed. Range of published machines 50 to 70
/// (from memory).
const BUMP_HZ: f64 = 60.0;
/// Height, dB: published machines have 1 to 3 (from memory).
const BUMP_DB: f64 = 1.5;
/// The roll-off's corner as a part of the bump's frequency (from memory).
const ROLL_OFF: f64 = 0.4;
/// State below this is silence (-600 dB): nothing decays into subnormal numbers.
const SILENCE: f64 = 1e-30;

/// Bump and roll-off in closed form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contour {
    /// Centre of the bump, hertz.
    pub bump_hz: f64,
    /// Its height, dB.
    pub bump_db: f64,
    /// Corner of the second-order roll-off (Butterworth), hertz.
    pub roll_off_hz: f64,
}

impl Contour {
    /// At a tape speed in metres a second.
    pub fn at(metres_a_second: f64) -> Self {
        let bump_hz = BUMP_HZ * metres_a_second / 0.381;
        Self {
            bump_hz,
            bump_db: BUMP_DB,
            roll_off_hz: ROLL_OFF * bump_hz,
        }
    }

    /// Magnitude, dB.
    pub fn db(&self, hz: f64) -> f64 {
        self.bump().db(hz) + self.roll_off().db(hz)
    }

    /// (s² + s√g + 1) / (s² + s/√g + 1) around the centre: a bell of height g as wide as it is high in frequency.
    fn bump(&self) -> Section {
        let side = 10f64.powf(self.bump_db / 40.0);
        Section {
            hz: self.bump_hz,
            above: [1.0, side, 1.0],
            below: 1.0 / side,
        }
    }

    fn roll_off(&self) -> Section {
        Section {
            hz: self.roll_off_hz,
            above: [1.0, 0.0, 0.0],
            below: 2.0 * FRAC_1_SQRT_2,
        }
    }

    /// As filters at a sample rate.
    pub fn filters(&self, sample_rate: f64) -> [ContourFilter; 2] {
        [self.bump(), self.roll_off()].map(|section| section.bilinear(sample_rate))
    }
}

/// (a s² + b s + c) / (s² + `below` s + 1), s in units of 2π `hz`; `above` is [a, b, c].
struct Section {
    hz: f64,
    above: [f64; 3],
    below: f64,
}

impl Section {
    fn db(&self, hz: f64) -> f64 {
        let w = hz / self.hz;
        let [a, b, c] = self.above;
        let power = |real: f64, imaginary: f64| real * real + imaginary * imaginary;
        10.0 * (power(c - a * w * w, b * w) / power(1.0 - w * w, self.below * w)).log10()
    }

    fn bilinear(&self, sample_rate: f64) -> ContourFilter {
        let k = 1.0 / (TAU * self.hz / sample_rate / 2.0).tan();
        let digital = |a: f64, b: f64, c: f64| {
            [
                a * k * k + b * k + c,
                2.0 * (c - a * k * k),
                a * k * k - b * k + c,
            ]
        };
        let [a, b, c] = self.above;
        let back = digital(1.0, self.below, 1.0);
        ContourFilter {
            forward: digital(a, b, c).map(|x| x / back[0]),
            back: [back[1] / back[0], back[2] / back[0]],
        }
    }
}

/// Coefficients of a second-order filter, transposed direct form II.
#[derive(Clone, Copy, Debug)]
pub struct ContourFilter {
    forward: [f64; 3],
    back: [f64; 2],
}

/// States of the two filters of a contour.
pub type ContourState = [[f64; 2]; 2];

/// Filters `audio` in place through both.
#[inline(always)]
pub fn contour(filters: &[ContourFilter; 2], state: &mut ContourState, audio: &mut [f64]) {
    let [mut first, mut second] = *state;
    for x in audio {
        *x = filters[1].next(&mut second, filters[0].next(&mut first, *x));
    }
    *state = [first, second];
}

/// Silences what has decayed; to be called now and then.
pub fn settle(state: &mut ContourState) {
    for x in state.as_flattened_mut() {
        if x.abs() < SILENCE {
            *x = 0.0;
        }
    }
}

impl ContourFilter {
    /// A wire.
    pub const NONE: Self = Self {
        forward: [1.0, 0.0, 0.0],
        back: [0.0, 0.0],
    };

    #[inline(always)]
    fn next(&self, state: &mut [f64; 2], x: f64) -> f64 {
        let [b0, b1, b2] = self.forward;
        let y = b0 * x + state[0];
        state[0] = b1 * x - self.back[0] * y + state[1];
        state[1] = b2 * x - self.back[1] * y;
        y
    }
}
