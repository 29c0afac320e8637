//! A steady tone on tape and what comes back: amplitudes of single lines, for the tests of the print.

use std::f64::consts::TAU;

use plumbline_dsp::print::machine::Machine;
use plumbline_dsp::print::oversampler::stages_for;
use plumbline_dsp::print::settings::{Equalisation, PrintSettings, TapeSpeed};
use plumbline_dsp::print::{Print, PrintSetup};
use realfft::RealFftPlanner;

use crate::support::sine;

/// A machine on the bench.
pub struct Bench {
    pub rate: f64,
    pub stages: usize,
    pub machine: fn(TapeSpeed, Equalisation) -> Machine,
}

impl Bench {
    /// As it ships.
    pub fn new(rate: f64) -> Self {
        Self {
            rate,
            stages: stages_for(rate),
            machine: Machine::lined_up,
        }
    }

    pub fn with(self, machine: fn(TapeSpeed, Equalisation) -> Machine) -> Self {
        Self { machine, ..self }
    }

    fn print(&self) -> Print {
        let setup = PrintSetup {
            sample_rate: self.rate,
            channels: 1,
        };
        Print::with_machines(setup, self.stages, self.machine)
    }

    /// A tone whose peak is `level_db` over the peak of the reference sine, printed, its last second.
    pub fn tone(&self, hz: f64, level_db: f64, settings: &PrintSettings) -> Played {
        let second = self.rate as usize;
        let peak = 10f64.powf((level_db + settings.lineup.reference_dbfs) / 20.0);
        let mut audio = sine(hz, self.rate, 5 * second / 2);
        audio.iter_mut().for_each(|x| *x *= peak as f32);
        let mut print = self.print();
        for (n, block) in audio.chunks_mut(512).enumerate() {
            let song_s = (n * 512) as f64 / self.rate;
            print.process(&mut [block], song_s, settings);
        }
        Played {
            audio: audio.split_off(audio.len() - second),
            rate: self.rate,
            peak,
        }
    }

    /// Gain of a tone at -20 dB, dB.
    pub fn gain_db(&self, hz: f64, settings: &PrintSettings) -> f64 {
        let played = self.tone(hz, -20.0, settings);
        20.0 * (played.line(hz) / played.peak).log10()
    }
}

/// One second of a printed tone: lines at whole hertz.
pub struct Played {
    pub audio: Vec<f32>,
    rate: f64,
    /// Of the tone before the print.
    pub peak: f64,
}

impl Played {
    /// Amplitude of the line at `hz`, a whole number.
    pub fn line(&self, hz: f64) -> f64 {
        let (mut real, mut imaginary) = (0.0, 0.0);
        for (n, x) in self.audio.iter().enumerate() {
            let (sine, cosine) = (TAU * (hz * n as f64 / self.rate).fract()).sin_cos();
            real += f64::from(*x) * cosine;
            imaginary += f64::from(*x) * sine;
        }
        2.0 * real.hypot(imaginary) / self.audio.len() as f64
    }

    /// Fundamental, dB over the reference sine.
    pub fn level_db(&self, hz: f64, settings: &PrintSettings) -> f64 {
        20.0 * self.line(hz).log10() - settings.lineup.reference_dbfs
    }

    /// Everything up to `top_hz` that is no harmonic of `hz`, as an amplitude.
    pub fn aliased(&self, hz: f64, top_hz: f64) -> f64 {
        let mut planner = RealFftPlanner::<f64>::new();
        let fft = planner.plan_fft_forward(self.audio.len());
        let mut time: Vec<f64> = self.audio.iter().map(|x| f64::from(*x)).collect();
        let mut spectrum = fft.make_output_vec();
        fft.process(&mut time, &mut spectrum)
            .expect("a buffer of the plan's length");
        // One second: line n is n hertz.
        let strange = |n: &usize| !n.is_multiple_of(hz as usize);
        let lines = (1..top_hz as usize).filter(strange);
        let power: f64 = lines.map(|n| spectrum[n].norm_sqr()).sum();
        2.0 * power.sqrt() / self.audio.len() as f64
    }
}
