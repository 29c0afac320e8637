//! A machine's filters at one sample rate, and one channel's way through them.

use super::amplifier::{Amplifier, amplifiers};
use super::contour::{ContourFilter, ContourState, contour};
use super::history::{FRAME, History, filter};
use super::machine::Machine;
use super::magnetisation::magnetise;
use super::noise::hiss_taps;
use super::one_poles::{OnePoleState, SECTIONS};
use super::oversampler::{Oversampler, OversamplerState};
use super::tape_gain::TapeGain;
use super::{contour, one_poles};
use crate::delay_line::clean;

/// Louder than this (120 dB over full scale) is a fault of what comes before: cut, so that squares stay in range.
const LOUDEST: f32 = 1e6;
/// Below this (-300 dB) a sample is silence on its way to the tape: no product with a tap is subnormal.
const SILENCE: f64 = 1e-15;

/// Filters of one machine.
#[derive(Clone, Debug)]
pub struct Tuned {
    recording: Amplifier,
    playback: Amplifier,
    contour: Option<[ContourFilter; 2]>,
    /// Shapes white noise of unit range into tape noise of unit rms.
    pub hiss: Vec<f32>,
}

impl Tuned {
    /// Designs them.
    pub fn new(machine: &Machine, sample_rate: f64) -> Self {
        let [recording, playback] = amplifiers(machine, sample_rate);
        Self {
            recording,
            playback,
            contour: machine.contour.map(|c| c.filters(sample_rate)),
            hiss: hiss_taps(machine, sample_rate),
        }
    }
}

/// What one channel's filters remember.
#[derive(Clone, Debug)]
pub struct Track {
    recording: (OnePoleState, History),
    playback: (OnePoleState, History),
    contour: ContourState,
    oversampler: OversamplerState,
}

impl Track {
    /// Silence. `taps` of both amplifiers' linear-phase filters.
    pub fn new(taps: usize, oversampler: &Oversampler) -> Self {
        let amplifier = || ([0.0; SECTIONS], History::new(taps - 1, FRAME));
        Self {
            recording: amplifier(),
            playback: amplifier(),
            contour: ContourState::default(),
            oversampler: oversampler.state(),
        }
    }

    /// Silence.
    pub fn reset(&mut self) {
        for (state, history) in [&mut self.recording, &mut self.playback] {
            *state = [0.0; SECTIONS];
            history.reset();
        }
        self.contour = ContourState::default();
        self.oversampler.reset();
    }

    /// Prints `audio`, at most a frame, in place.
    pub fn print(
        &mut self,
        tuned: &Tuned,
        oversampler: &Oversampler,
        gain: &TapeGain,
        audio: &mut [f32],
    ) {
        let mut field = [0.0; FRAME];
        let field = &mut field[..audio.len()];
        self.record(&tuned.recording, audio, field);
        let work = |phase: &mut [f32]| magnetise(phase, gain.drive(), gain.back());
        oversampler.around(&mut self.oversampler, field, work);
        self.play(tuned, field, audio);
    }

    fn record(&mut self, amplifier: &Amplifier, audio: &[f32], field: &mut [f32]) {
        let mut wide = [0.0; FRAME];
        let wide = &mut wide[..audio.len()];
        for (wide, &x) in wide.iter_mut().zip(audio) {
            *wide = f64::from(clean(x).clamp(-LOUDEST, LOUDEST));
        }
        let (state, history) = &mut self.recording;
        amplifier.shelves.process(state, wide);
        let mut shelved = [0.0; FRAME];
        let shelved = &mut shelved[..audio.len()];
        for (out, &x) in shelved.iter_mut().zip(&*wide) {
            *out = if x.abs() < SILENCE { 0.0 } else { x as f32 };
        }
        filter(&amplifier.taps, history.extend(shelved), field);
    }

    fn play(&mut self, tuned: &Tuned, flux: &[f32], audio: &mut [f32]) {
        let (state, history) = &mut self.playback;
        filter(&tuned.playback.taps, history.extend(flux), audio);
        let mut wide = [0.0; FRAME];
        let wide = &mut wide[..audio.len()];
        for (wide, &x) in wide.iter_mut().zip(&*audio) {
            *wide = f64::from(x);
        }
        tuned.playback.shelves.process(state, wide);
        if let Some(filters) = &tuned.contour {
            contour(filters, &mut self.contour, wide);
        }
        for (out, &x) in audio.iter_mut().zip(&*wide) {
            *out = clean(x as f32);
        }
    }

    /// Silences what has decayed.
    pub fn settle(&mut self) {
        one_poles::settle(&mut self.recording.0);
        one_poles::settle(&mut self.playback.0);
        contour::settle(&mut self.contour);
    }
}
