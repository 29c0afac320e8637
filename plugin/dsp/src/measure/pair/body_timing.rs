//! Aligns a drum's strokes on each other by their bodies: one shift a stroke for all channels together.

use std::f32::consts::TAU;
use std::sync::Arc;

use realfft::num_complex::Complex32;
use realfft::{ComplexToReal, RealFftPlanner, RealToComplex};

use crate::channels::CHANNELS;
use crate::measure::hit::filters::smooth_one;
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::Window;
use crate::measure::pair::rows::Rows;
use crate::measure::pair::timing::{MOST_FIT, Timing, later};

/// Below is the room and the stand, above it the body's rate ends. Hz.
const BAND_HZ: (f32, f32) = (80.0, 2_200.0);
/// The first look, at one stroke, is at the body alone. Hz.
const FIRST_LOOK_HZ: (f32, f32) = (90.0, 700.0);
/// Strokes are compared by this band's level. Hz.
const LEVEL_HZ: (f32, f32) = (100.0, 500.0);
/// The template is heard from this long before a stroke ...
const BEFORE_S: f32 = 0.003;
/// ... to this long after, where it has faded out over the last 12 ms.
const AFTER_S: f32 = 0.030;
const FADE_S: f32 = 0.012;
/// The finder places strokes to within this much of each other.
const MISPLACED_S: f32 = 0.006;
/// Rounds: what moves after the fourth is below a body sample.
const ROUNDS: usize = 5;
/// The spectrum of what is not explained is smoothed to this width: one over the template's length. Hz.
const SMOOTH_HZ: f32 = 160.0;
/// No line counts for more than 40 dB over the channel's worst.
const QUIETEST: f32 = 1e-4;
/// A stroke that fits three times better than the middle one does not count for more.
const BEST_FIT: f32 = 0.3;

/// Plans and tables for [`MOST_FIT`] strokes.
pub(crate) struct BodyTiming {
    forward: Arc<dyn RealToComplex<f32>>,
    inverse: Arc<dyn ComplexToReal<f32>>,
    rate: f32,
    length: usize,
    gate: Box<[f32]>,
    /// How much later each channel begins than the strokes' own time, body samples.
    later: [isize; CHANNELS],
    /// Of stroke and channel, as recorded.
    spectra: Rows<Complex32>,
    /// Sum over strokes of the moved spectra, by channel; their residual power, smoothed.
    sum: Rows<Complex32>,
    noise: Rows<f32>,
    template: Rows<Complex32>,
    product: Box<[Complex32]>,
    power: Box<[f32]>,
    time: Box<[f32]>,
    scratch: Box<[Complex32]>,
}

struct State {
    shift: [f32; MOST_FIT],
    gain: [f32; MOST_FIT],
    weight: [f32; MOST_FIT],
}

impl BodyTiming {
    pub(crate) fn new(window: &Window) -> Self {
        let length = window.body();
        let size = (length + length / 8).next_power_of_two();
        let mut planner = RealFftPlanner::new();
        let (forward, inverse) = (
            planner.plan_fft_forward(size),
            planner.plan_fft_inverse(size),
        );
        let rate = window.body_rate() as f32;
        let start = window.kept_before as f32 / window.rate as f32;
        let gate = |n: usize| {
            let t = n as f32 / rate - start;
            ((t + BEFORE_S) / 0.001).clamp(0.0, 1.0) * ((AFTER_S - t) / FADE_S).clamp(0.0, 1.0)
        };
        let bins = size / 2 + 1;
        let scratch = forward.get_scratch_len().max(inverse.get_scratch_len());
        Self {
            rate,
            length,
            gate: (0..length).map(gate).collect(),
            later: [0; CHANNELS],
            spectra: Rows::new(MOST_FIT * CHANNELS, bins),
            sum: Rows::new(CHANNELS, bins),
            noise: Rows::new(CHANNELS, bins),
            template: Rows::new(CHANNELS, bins),
            product: vec![Complex32::default(); bins].into(),
            power: vec![0.0; bins].into(),
            time: vec![0.0; size].into(),
            scratch: vec![Complex32::default(); scratch].into(),
            forward,
            inverse,
        }
    }

    fn hz(&self, bin: usize) -> f32 {
        bin as f32 * self.rate / self.time.len() as f32
    }

    /// Times and levels of the strokes, in working samples of their own windows.
    pub(crate) fn align(&mut self, strokes: &[&Stroke], window: &Window) -> Timing {
        let count = strokes.len();
        self.transform(strokes);
        self.later = later(strokes).map(|later| later / window.step as isize);
        let mut level = [0.0f32; MOST_FIT];
        for (n, level) in level.iter_mut().enumerate().take(count) {
            *level = self.level(n);
        }
        let mut order: [usize; MOST_FIT] = std::array::from_fn(|n| n);
        order[..count].sort_unstable_by(|a, b| level[*b].total_cmp(&level[*a]));
        let strong = &order[..count.div_ceil(3)];
        let typical = strong[strong.len() / 2];
        let mut state = State {
            shift: [0.0; MOST_FIT],
            gain: level.map(|x| x / level[typical].max(1e-20)),
            weight: [1.0; MOST_FIT],
        };
        if count > 1 {
            self.first_look(count, strong, typical, &mut state);
            for _ in 1..ROUNDS {
                self.look_again(count, strong, &mut state);
            }
        }
        let mut timing = Timing::new(count);
        for n in 0..count {
            timing.at[n] =
                window.kept_before as f64 + f64::from(state.shift[n]) * window.step as f64;
            timing.gain[n] = state.gain[n];
            timing.fit[n] = state.weight[n];
        }
        timing
    }

    fn transform(&mut self, strokes: &[&Stroke]) {
        let (low, high) = BAND_HZ;
        for (n, stroke) in strokes.iter().enumerate() {
            for (channel, body) in stroke.body.iter().enumerate() {
                self.time.fill(0.0);
                self.time[..self.length].copy_from_slice(body);
                let row = self.spectra.row_mut(n * CHANNELS + channel);
                let _ = self
                    .forward
                    .process_with_scratch(&mut self.time, row, &mut self.scratch);
            }
        }
        for bin in 0..self.power.len() {
            let hz = self.hz(bin).max(1.0);
            let slope = 1.0 / (1.0 + (low / hz).powi(6)) / (1.0 + (hz / high).powi(6));
            for row in 0..strokes.len() * CHANNELS {
                self.spectra.row_mut(row)[bin] *= slope;
            }
        }
    }

    fn level(&self, stroke: usize) -> f32 {
        let bins =
            (0..self.power.len()).filter(|bin| (LEVEL_HZ.0..LEVEL_HZ.1).contains(&self.hz(*bin)));
        let power = |bin: usize| -> f32 {
            (0..2)
                .map(|channel| self.spectra.row(stroke * CHANNELS + channel)[bin].norm_sqr())
                .sum()
        };
        bins.map(power).sum::<f32>().sqrt()
    }

    fn first_look(&mut self, count: usize, strong: &[usize], typical: usize, state: &mut State) {
        for channel in 0..CHANNELS {
            let mut mean = 0.0;
            for stroke in strong {
                let row = self.spectra.row(stroke * CHANNELS + channel);
                mean += row.iter().map(|x| x.norm_sqr()).sum::<f32>();
            }
            let flat = mean / (strong.len() * self.power.len()) as f32;
            for bin in 0..self.power.len() {
                let inside = (FIRST_LOOK_HZ.0..FIRST_LOOK_HZ.1).contains(&self.hz(bin));
                self.noise.row_mut(channel)[bin] = if inside { flat } else { f32::INFINITY };
            }
            let scale = 1.0 / state.gain[typical].max(1e-9);
            for bin in 0..self.power.len() {
                self.template.row_mut(channel)[bin] =
                    self.spectra.row(typical * CHANNELS + channel)[bin] * scale;
            }
        }
        self.gate_template();
        for n in 0..count {
            state.shift[n] = self.best_shift(n).0;
        }
        centre(&mut state.shift[..count]);
    }

    fn look_again(&mut self, count: usize, strong: &[usize], state: &mut State) {
        self.add_up(count, state);
        self.residual(count, state);
        let mut misfit = [0.0f32; MOST_FIT];
        let before = State { ..*state };
        for (n, misfit) in misfit.iter_mut().enumerate().take(count) {
            self.leave_out(n, count, &before);
            self.gate_template();
            let (shift, gain) = self.best_shift(n);
            state.shift[n] = shift;
            state.gain[n] = gain.max(1e-3);
            *misfit = self.misfit(n, state);
        }
        let mut sorted = misfit;
        sorted[..count].sort_unstable_by(f32::total_cmp);
        let middle = sorted[count / 2].max(f32::MIN_POSITIVE);
        for (weight, misfit) in state.weight.iter_mut().zip(misfit) {
            *weight = 1.0 / (misfit / middle).max(BEST_FIT);
        }
        normalise(&mut state.gain[..count], strong);
        centre(&mut state.shift[..count]);
    }

    fn add_up(&mut self, count: usize, state: &State) {
        for channel in 0..CHANNELS {
            self.sum.row_mut(channel).fill(Complex32::default());
            for n in 0..count {
                let part = state.weight[n] * state.gain[n];
                let moved = self.spectra.row(n * CHANNELS + channel);
                let turn = self.turn(state.shift[n]);
                let mut at = Complex32::new(part, 0.0);
                for (sum, x) in self.sum.row_mut(channel).iter_mut().zip(moved) {
                    *sum += x * at;
                    at *= turn;
                }
            }
        }
    }

    /// Phase of one bin for a stroke that is `shift` late.
    fn turn(&self, shift: f32) -> Complex32 {
        Complex32::cis(TAU * shift / self.time.len() as f32)
    }

    fn residual(&mut self, count: usize, state: &State) {
        let whole: f32 = (0..count)
            .map(|n| state.weight[n] * state.gain[n].powi(2))
            .sum();
        let weights: f32 = state.weight[..count].iter().sum();
        let width = ((SMOOTH_HZ / self.hz(1)) as usize).max(1);
        for channel in 0..CHANNELS {
            self.power.fill(0.0);
            for n in 0..count {
                let turn = self.turn(state.shift[n]);
                let (gain, weight) = (state.gain[n], state.weight[n] / weights);
                let row = self.spectra.row(n * CHANNELS + channel);
                let mut at = Complex32::new(1.0, 0.0);
                for ((power, x), sum) in self.power.iter_mut().zip(row).zip(self.sum.row(channel)) {
                    *power += weight * (x * at - sum * (gain / whole)).norm_sqr();
                    at *= turn;
                }
            }
            let noise = self.noise.row_mut(channel);
            smooth_one(&self.power, width, &mut self.time, noise);
            let most = noise.iter().copied().fold(0.0, f32::max);
            let least = (QUIETEST * most).max(1e-24);
            noise.iter_mut().for_each(|noise| *noise = noise.max(least));
        }
    }

    fn leave_out(&mut self, n: usize, count: usize, state: &State) {
        let own = state.weight[n] * state.gain[n];
        let whole: f32 = (0..count)
            .map(|n| state.weight[n] * state.gain[n].powi(2))
            .sum();
        let scale = 1.0 / (whole - own * state.gain[n]).max(1e-9 * whole);
        let turn = self.turn(state.shift[n]);
        for channel in 0..CHANNELS {
            let row = self.spectra.row(n * CHANNELS + channel);
            let sum = self.sum.row(channel);
            let mut at = Complex32::new(own, 0.0);
            let template = self.template.row_mut(channel);
            for ((template, sum), x) in template.iter_mut().zip(sum).zip(row) {
                *template = (sum - x * at) * scale;
                at *= turn;
            }
        }
    }

    fn gate_template(&mut self) {
        let scale = 1.0 / self.time.len() as f32;
        for channel in 0..CHANNELS {
            let row = self.template.row_mut(channel);
            row[0].im = 0.0;
            let last = row.len() - 1;
            row[last].im = 0.0;
            let _ = self
                .inverse
                .process_with_scratch(row, &mut self.time, &mut self.scratch);
            for (n, x) in self.time[..self.length].iter_mut().enumerate() {
                let at = n.checked_add_signed(-self.later[channel]);
                *x *= scale * at.and_then(|at| self.gate.get(at)).copied().unwrap_or(0.0);
            }
            self.time[self.length..].fill(0.0);
            let _ = self
                .forward
                .process_with_scratch(&mut self.time, row, &mut self.scratch);
        }
    }

    /// How late a stroke is against the template, and how loud.
    fn best_shift(&mut self, n: usize) -> (f32, f32) {
        self.product.fill(Complex32::default());
        let mut energy = 0.0;
        for channel in 0..CHANNELS {
            let row = self.spectra.row(n * CHANNELS + channel);
            let template = self.template.row(channel);
            let noise = self.noise.row(channel);
            for (((product, x), t), noise) in
                self.product.iter_mut().zip(row).zip(template).zip(noise)
            {
                *product += t.conj() * x / *noise;
                energy += t.norm_sqr() / noise;
            }
        }
        self.product[0].im = 0.0;
        let last = self.product.len() - 1;
        self.product[last].im = 0.0;
        let _ =
            self.inverse
                .process_with_scratch(&mut self.product, &mut self.time, &mut self.scratch);
        let (shift, height) = highest(&self.time, (MISPLACED_S * self.rate) as usize);
        (shift, height / (2.0 * energy).max(f32::MIN_POSITIVE))
    }

    fn misfit(&self, n: usize, state: &State) -> f32 {
        let mut sum = 0.0;
        for channel in 0..CHANNELS {
            let turn = self.turn(state.shift[n]);
            let mut at = Complex32::new(1.0, 0.0);
            let row = self.spectra.row(n * CHANNELS + channel);
            let template = self.template.row(channel);
            for ((x, t), noise) in row.iter().zip(template).zip(self.noise.row(channel)) {
                sum += (x * at - t * state.gain[n]).norm_sqr() / noise;
                at *= turn;
            }
        }
        sum
    }
}

/// Place and height of the highest point within `reach` of zero of a correlation that wraps round.
fn highest(correlation: &[f32], reach: usize) -> (f32, f32) {
    let length = correlation.len();
    let reach = reach.min(length / 2 - 2) as isize;
    let at = |lag: isize| correlation[lag.rem_euclid(length as isize) as usize];
    let higher = |best: isize, lag: isize| if at(lag) > at(best) { lag } else { best };
    let lag = (-reach..=reach).fold(0, higher);
    let (before, top, after) = (at(lag - 1), at(lag), at(lag + 1));
    let bend = before - 2.0 * top + after;
    let part = if bend < 0.0 {
        (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    (lag as f32 + part, top - 0.25 * (before - after) * part)
}

/// Moves the shifts so that their middle one is zero.
fn centre(shift: &mut [f32]) {
    let mut sorted = [0.0; MOST_FIT];
    let sorted = &mut sorted[..shift.len()];
    sorted.copy_from_slice(shift);
    sorted.sort_unstable_by(f32::total_cmp);
    let middle = 0.5 * (sorted[sorted.len() / 2] + sorted[(sorted.len() - 1) / 2]);
    shift.iter_mut().for_each(|shift| *shift -= middle);
}

/// Scales the gains so that the strong strokes' middle one is one.
fn normalise(gain: &mut [f32], strong: &[usize]) {
    let mut sorted = [0.0; MOST_FIT];
    for (sorted, stroke) in sorted.iter_mut().zip(strong) {
        *sorted = gain[*stroke];
    }
    let sorted = &mut sorted[..strong.len()];
    sorted.sort_unstable_by(f32::total_cmp);
    let middle = sorted[sorted.len() / 2].max(1e-9);
    gain.iter_mut().for_each(|gain| *gain /= middle);
}
