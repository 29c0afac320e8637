//! A machine's filters at one sample rate, and one channel's way through them.

use super::amplifier::{Amplifier, amplifiers};
use super::contour::{ContourFilter, ContourState, contour};
use super::history::{FRAME, History, filter};
use super::machine::Machine;
use super::magnetisation::magnetise;
use super::noise::hiss_taps;
use super::one_poles::{OnePoleState, OnePoles, SECTIONS};
use super::oversampler::{Oversampler, OversamplerState};
use super::tape_gain::TapeGain;
use super::{contour, one_poles};
use crate::delay::delay_line::clean;
use crate::math::widest::{Arithmetic, Work, run_widest};

/// Louder than this (120 dB over full scale) is a fault of what comes before: cut, so that squares stay in range.
const LOUDEST: f32 = 1e6;
/// Below this (-300 dB) a sample is silence on its way to the tape: no product with a tap is subnormal.
const SILENCE: f64 = 1e-15;

/// Filters of one machine.
#[derive(Clone, Debug)]
pub struct Tuned {
    recording: Amplifier,
    playback: Amplifier,
    contour: [ContourFilter; 2],
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
            contour: (machine.contour).map_or([ContourFilter::NONE; 2], |c| c.filters(sample_rate)),
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
        let mut shelved = [0.0; FRAME];
        let shelved = &mut shelved[..audio.len()];
        let (state, history) = &mut self.recording;
        run_widest(Record {
            shelves: &amplifier.shelves,
            state,
            audio,
            out: shelved,
        });
        filter(&amplifier.taps, history.extend(shelved), field);
    }

    fn play(&mut self, tuned: &Tuned, flux: &[f32], audio: &mut [f32]) {
        let (state, history) = &mut self.playback;
        filter(&tuned.playback.taps, history.extend(flux), audio);
        run_widest(Play {
            shelves: &tuned.playback.shelves,
            state,
            filters: &tuned.contour,
            contour: &mut self.contour,
            audio,
        });
    }

    /// Silences what has decayed.
    pub fn settle(&mut self) {
        one_poles::settle(&mut self.recording.0);
        one_poles::settle(&mut self.playback.0);
        contour::settle(&mut self.contour);
    }
}

/// From the input through the recording amplifier's shelves.
struct Record<'a> {
    shelves: &'a OnePoles,
    state: &'a mut OnePoleState,
    audio: &'a [f32],
    out: &'a mut [f32],
}

impl Work for Record<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let mut wide = [0.0; FRAME];
        let wide = &mut wide[..self.audio.len()];
        for (wide, &x) in wide.iter_mut().zip(self.audio) {
            *wide = f64::from(clean(x).clamp(-LOUDEST, LOUDEST));
        }
        self.shelves.process(self.state, wide);
        for (out, &x) in self.out.iter_mut().zip(&*wide) {
            *out = if x.abs() < SILENCE { 0.0 } else { x as f32 };
        }
    }
}

/// Through the playback amplifier's shelves and the head's contour, in place.
struct Play<'a> {
    shelves: &'a OnePoles,
    state: &'a mut OnePoleState,
    filters: &'a [ContourFilter; 2],
    contour: &'a mut ContourState,
    audio: &'a mut [f32],
}

impl Work for Play<'_> {
    #[inline(always)]
    fn run<A: Arithmetic>(self) {
        let mut wide = [0.0; FRAME];
        let wide = &mut wide[..self.audio.len()];
        for (wide, &x) in wide.iter_mut().zip(&*self.audio) {
            *wide = f64::from(x);
        }
        self.shelves.process(self.state, wide);
        contour(self.filters, self.contour, wide);
        for (out, &x) in self.audio.iter_mut().zip(&*wide) {
            *out = clean(x as f32);
        }
    }
}
