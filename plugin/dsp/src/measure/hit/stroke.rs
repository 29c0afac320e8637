//! One stroke as it is kept: its audio, its body at a low rate, and its energy in the bands that name a drum.

use crate::channels::{CHANNELS, SPOT};
use crate::math::biquad::Biquad;
use crate::measure::hit::filters::{BandPass, Edges};
use crate::measure::hit::window::Window;

/// Bands that tell drums apart: shell of a kick, body of a snare or tom, its upper modes, wires and sticks, cymbals.
pub(crate) const BANDS_HZ: [Edges; 5] = [
    edges(40.0, 110.0),
    edges(130.0, 400.0),
    edges(400.0, 1_000.0),
    edges(1_000.0, 3_000.0),
    edges(3_000.0, 9_000.0),
];
/// Which of them is the body.
pub(crate) const BODY: usize = 1;
/// The waveform that strokes are compared by lies in this band: above it strokes of one drum differ under cymbals.
const SHAPE_HZ: Edges = edges(70.0, 450.0);
/// From this long before the stroke ...
const SHAPE_BEFORE_S: f64 = 0.004;
/// ... to this long after; the second half fades.
const SHAPE_AFTER_S: f64 = 0.036;
/// A band's energy is measured over this long from the stroke on ...
const ENERGY_S: f64 = 0.030;
/// ... against as long before it, up to this long before.
const GUARD_S: f64 = 0.003;

/// A waveform's norm below this is silence.
const QUIETEST: f32 = 1e-6;
/// A stroke adds at least this part of what was there before to one band: 1 dB.
const LOUDER: f64 = 0.26;

const fn edges(low_hz: f64, high_hz: f64) -> Edges {
    Edges { low_hz, high_hz }
}

/// Mean powers of one channel.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Energy {
    /// In each band, beyond what was there before the stroke.
    pub bands: [f64; BANDS_HZ.len()],
    /// In each band before the stroke.
    pub before: [f64; BANDS_HZ.len()],
    /// Of the body, all that is heard.
    pub body: f64,
}

impl Energy {
    /// The most that the stroke may have in a band: what it adds, or what it may add unnoticed to what was there before.
    pub(crate) fn most(&self, band: usize) -> f64 {
        self.bands[band].max(LOUDER * self.before[band])
    }
}

/// A kept stroke. Allocated once, filled again and again.
#[derive(Debug)]
pub(crate) struct Stroke {
    /// Working sample it begins at, counted since the analyser was made or cleared.
    pub at: u64,
    /// How much later the spot's energy steps up, working samples; `None` where it does not.
    pub spot_later: Option<i32>,
    /// How many strokes were kept before it.
    pub order: u64,
    pub audio: [Box<[f32]>; CHANNELS],
    /// The audio at [`Window::body_rate`].
    pub body: [Box<[f32]>; CHANNELS],
    /// The body's waveform in first and second, each of energy one (or silent).
    pub shape: [Box<[f32]>; 2],
    pub energy: [Energy; CHANNELS],
}

impl Stroke {
    pub(crate) fn new(window: &Window) -> Self {
        let audio = || vec![0.0; window.kept()].into();
        let body = || vec![0.0; window.body()].into();
        let shape = || vec![0.0; shape_length(window)].into();
        Self {
            at: 0,
            spot_later: None,
            order: 0,
            audio: std::array::from_fn(|_| audio()),
            body: std::array::from_fn(|_| body()),
            shape: std::array::from_fn(|_| shape()),
            energy: [Energy::default(); CHANNELS],
        }
    }
}

impl Stroke {
    /// Did two bands get louder, from the body on, in any channel? A stroke is broad; an echo or a beat of the body is not.
    pub(crate) fn stands_out(&self) -> bool {
        let louder = |energy: &Energy| {
            let bands = energy.bands.iter().zip(&energy.before).skip(BODY);
            bands
                .filter(|(more, before)| **more > LOUDER * **before)
                .count()
                >= 2
        };
        self.energy.iter().any(louder)
    }
}

fn shape_length(window: &Window) -> usize {
    ((SHAPE_BEFORE_S + SHAPE_AFTER_S) * window.body_rate()) as usize
}

/// Fills strokes from what was heard.
#[derive(Debug)]
pub(crate) struct StrokeReader {
    window: Window,
    low_pass: Box<[f32]>,
    scratch: Box<[f32]>,
}

impl StrokeReader {
    pub(crate) fn new(window: Window) -> Self {
        Self {
            window,
            low_pass: low_pass(window.step),
            scratch: vec![0.0; window.heard()].into(),
        }
    }

    /// Fills `stroke` from the channels' [`Window::heard`] samples around it.
    pub(crate) fn read(&mut self, heard: &[Box<[f32]>; CHANNELS], stroke: &mut Stroke) {
        let w = self.window;
        for (channel, heard) in heard.iter().enumerate() {
            let kept = &heard[w.heard_before - w.kept_before..];
            stroke.audio[channel].copy_from_slice(kept);
            self.read_body(heard, &mut stroke.body[channel]);
            let later = stroke.spot_later.filter(|_| channel == SPOT);
            stroke.energy[channel] = self.energy(heard, later.unwrap_or(0) as isize);
        }
        let mut level = [0.0f32; 2];
        for ((level, shape), body) in level.iter_mut().zip(&mut stroke.shape).zip(&stroke.body) {
            read_shape(&w, body, shape, &mut self.scratch);
            *level = (power(shape) * shape.len() as f64).sqrt() as f32;
        }
        let both: f32 = level.iter().sum();
        for (level, shape) in level.iter().zip(&mut stroke.shape) {
            // Each channel counts by its amplitude, not its power: the louder one does not decide alone.
            let scale = if *level > QUIETEST {
                1.0 / (level * both).sqrt()
            } else {
                0.0
            };
            shape.iter_mut().for_each(|x| *x *= scale);
        }
    }

    fn read_body(&self, heard: &[f32], body: &mut [f32]) {
        let half = self.low_pass.len() / 2;
        let start = self.window.heard_before - self.window.kept_before;
        for (n, out) in body.iter_mut().enumerate() {
            let middle = start + n * self.window.step;
            let tap = |(k, h): (usize, &f32)| {
                let at = (middle + k).checked_sub(half);
                h * at.and_then(|at| heard.get(at)).copied().unwrap_or(0.0)
            };
            *out = self.low_pass.iter().enumerate().map(tap).sum();
        }
    }

    /// Of one channel, whose sound begins `later` samples after the stroke.
    fn energy(&mut self, heard: &[f32], later: isize) -> Energy {
        let w = self.window;
        let (span, guard) = (w.samples(ENERGY_S), w.samples(GUARD_S));
        let at = w.heard_before.saturating_add_signed(later);
        let at = at.clamp(guard + span, w.heard() - span);
        let mut energy = Energy::default();
        let bands = energy.bands.iter_mut().zip(&mut energy.before);
        for (n, ((band, noise), edges)) in bands.zip(BANDS_HZ).enumerate() {
            self.scratch.copy_from_slice(heard);
            let filter = BandPass::new(edges, w.rate);
            filter.run(&mut self.scratch);
            filter.run(&mut self.scratch);
            let before = at - guard - span;
            let heard = &self.scratch[at..at + span];
            *noise = power(&self.scratch[before..before + span]);
            *band = (power(heard) - *noise).max(0.0);
            if n == BODY {
                energy.body = power(&self.scratch[at - guard..]);
            }
        }
        energy
    }
}

/// Mean square.
pub(crate) fn power(samples: &[f32]) -> f64 {
    let sum: f64 = samples.iter().map(|x| f64::from(*x).powi(2)).sum();
    sum / samples.len().max(1) as f64
}

fn read_shape(w: &Window, body: &[f32], shape: &mut [f32], scratch: &mut [f32]) {
    let scratch = &mut scratch[..body.len()];
    scratch.copy_from_slice(body);
    let mut high = Biquad::high_pass(SHAPE_HZ.low_hz, w.body_rate());
    let mut low = Biquad::low_pass(SHAPE_HZ.high_hz, w.body_rate());
    for x in scratch.iter_mut() {
        *x = low.next(high.next(f64::from(*x))) as f32;
    }
    let start = w.kept_before / w.step - (SHAPE_BEFORE_S * w.body_rate()) as usize;
    let half = shape.len() / 2;
    let scale = std::f64::consts::PI / (shape.len() - half) as f64;
    for (n, (out, x)) in shape.iter_mut().zip(&scratch[start..]).enumerate() {
        let late = n.saturating_sub(half) as f64 * scale;
        *out = x * (0.5 + 0.5 * late.cos()) as f32;
    }
}

/// A Blackman-windowed sinc over twelve output samples, cut off at 0.4 of the body's rate.
fn low_pass(step: usize) -> Box<[f32]> {
    if step == 1 {
        return vec![1.0].into();
    }
    let length = 12 * step + 1;
    let tap = |n: usize| {
        let x = (n as f64 - (length / 2) as f64) / step as f64 * 0.8;
        let sinc = if x.abs() < 1e-9 {
            1.0
        } else {
            (std::f64::consts::PI * x).sin() / (std::f64::consts::PI * x)
        };
        let turn = std::f64::consts::TAU * n as f64 / (length - 1) as f64;
        sinc * (0.42 - 0.5 * turn.cos() + 0.08 * (2.0 * turn).cos())
    };
    let taps: Vec<f64> = (0..length).map(tap).collect();
    let sum: f64 = taps.iter().sum();
    taps.iter().map(|h| (h / sum) as f32).collect()
}
