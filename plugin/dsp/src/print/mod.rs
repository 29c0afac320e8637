//! The print: a pair recorded on tape and played back, as a lined-up machine with a real coating does it.
//!
//! Level to tape, recording equaliser, magnetisation (oversampled), losses and head contour, playback equaliser, level
//! back. The shell calls [`Print::process`] while the print is on and nothing at all while it is off.

mod amplifier;
pub mod contour;
pub mod equalisation;
mod half_band;
mod history;
pub mod level_histogram;
mod linear_phase;
mod linear_system;
pub mod losses;
pub mod machine;
pub mod magnetisation;
mod noise;
mod one_poles;
pub mod oversampler;
pub mod settings;
mod shelves;
pub mod take_levels;
mod tape_gain;
pub mod third_harmonic;
mod tuned;

use crate::delay::delay_line::clean;
use crate::math::ramp::{GLIDE_S, Ramp, toward};
use crate::units::sane_rate;
use amplifier::half_taps;
use history::FRAME;
use machine::Machine;
use magnetisation::SATURATION;
use noise::{NoiseLevels, add_noise, modulation};
use oversampler::{Oversampler, stages_for};
use settings::{Equalisation, PrintSettings, TapeSpeed};
use tape_gain::TapeGain;
use tuned::{Track, Tuned};

/// A machine that is switched to runs unheard for so long, until its low corners hold what the music left in them.
const WARM_S: f64 = 0.1;
/// Sound is over so long after the input's end: the slowest corner, 2.5 Hz, has lost 90 dB.
const TAIL_S: f64 = 0.7;
/// The loudest hiss comes in or goes within a glide; rms, in peaks of a sine at the reference.
const LOUDEST_HISS: f64 = 0.01;

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PrintSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// One or two.
    pub channels: usize,
}

/// The tape of one instance. Its channels share nothing but the settings.
///
/// At low level the output is the input, [`latency`] samples late, but for the machine's contour below 100 Hz. Non-finite
/// samples are read as silence.
#[derive(Debug)]
pub struct Print {
    sample_rate: f64,
    oversampler: Oversampler,
    /// One for each speed and equalisation; see [`place`].
    machines: Vec<Tuned>,
    /// Two for each channel: the heard one, and the one that is switched to.
    tracks: Vec<[Track; 2]>,
    heard: Selection,
    switching: Option<Switching>,
    fade: Ramp,
    gain: TapeGain,
    /// Rms of unrecorded tape, in peaks of a sine at 320 nWb/m.
    hiss: f64,
    /// Samples since the last settling, below a frame.
    clock: usize,
    /// Nothing was printed since the last reset.
    fresh: bool,
}

/// A machine on one of the two tracks of every channel.
#[derive(Clone, Copy, Debug)]
struct Selection {
    machine: usize,
    track: usize,
}

/// A machine that is about to be heard.
#[derive(Clone, Copy, Debug)]
struct Switching {
    to: Selection,
    /// Samples before its fade begins.
    warm: usize,
}

/// What one frame is printed with.
struct Frame {
    count: usize,
    /// Number of the first sample in the song.
    index: i64,
    /// Sample by sample; `None`: silent tape.
    noise: Option<[NoiseLevels; FRAME]>,
    /// Of the machine that is switched to; `None` while it warms up.
    fade: Option<[f32; FRAME]>,
}

/// Samples from input to output at this rate, whole: both amplifiers' linear-phase filters and the oversampling.
pub fn latency(sample_rate: f64) -> usize {
    let sample_rate = sane_rate(sample_rate);
    let oversampler = Oversampler::new(sample_rate, stages_for(sample_rate));
    2 * half_taps(sample_rate) + oversampler.latency()
}

/// Response at low level for these settings, dB: what the window draws.
pub fn response_db(settings: &PrintSettings, hz: f64) -> f64 {
    Machine::lined_up(settings.speed, settings.equalisation).response_db(hz)
}

/// Which of the machines these settings ask for.
fn place(speed: TapeSpeed, equalisation: Equalisation) -> usize {
    equalisation as usize * TapeSpeed::ALL.len() + speed as usize
}

impl Print {
    /// Designs the filters of every machine and allocates.
    pub fn new(setup: PrintSetup) -> Self {
        let stages = stages_for(sane_rate(setup.sample_rate));
        Self::with_machines(setup, stages, Machine::lined_up)
    }

    /// The same with machines of any make and the rate doubled `stages` times: for measurements.
    pub fn with_machines(
        setup: PrintSetup,
        stages: usize,
        machine: impl Fn(TapeSpeed, Equalisation) -> Machine,
    ) -> Self {
        let sample_rate = sane_rate(setup.sample_rate);
        let oversampler = Oversampler::new(sample_rate, stages);
        let all = Equalisation::ALL.map(|e| TapeSpeed::ALL.map(|s| (s, e)));
        let machines = all.as_flattened().iter();
        let taps = 2 * half_taps(sample_rate) + 1;
        let track = || Track::new(taps, &oversampler);
        Self {
            sample_rate,
            machines: machines
                .map(|(s, e)| Tuned::new(&machine(*s, *e), sample_rate))
                .collect(),
            tracks: (0..setup.channels).map(|_| [track(), track()]).collect(),
            heard: Selection {
                machine: 0,
                track: 0,
            },
            switching: None,
            fade: Ramp::new(GLIDE_S, sample_rate),
            gain: TapeGain::new(sample_rate, oversampler.worked_per_sample()),
            hiss: 0.0,
            clock: 0,
            fresh: true,
            oversampler,
        }
    }

    /// See [`latency`].
    pub fn latency(&self) -> usize {
        2 * half_taps(self.sample_rate) + self.oversampler.latency()
    }

    /// Samples that still sound after the input's end, latency included.
    pub fn tail(&self) -> usize {
        self.latency() + (TAIL_S * self.sample_rate) as usize
    }

    /// Silence; the next block begins afresh with its own settings, nothing glides there.
    pub fn reset(&mut self) {
        self.tracks
            .as_flattened_mut()
            .iter_mut()
            .for_each(Track::reset);
        self.switching = None;
        self.fade.finish();
        self.clock = 0;
        self.fresh = true;
    }

    /// Works in place on `channels[c][..]`, all of one length. `song_s` is where the block's first sample stands at the
    /// plugin's input, seconds.
    pub fn process(&mut self, channels: &mut [&mut [f32]], song_s: f64, settings: &PrintSettings) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        if length == 0 {
            return;
        }
        let settings = settings.sane();
        let first = (song_s * self.sample_rate).round() as i64;
        self.take(&settings);
        let mut start = 0;
        while start < length {
            let count = (length - start).min(self.stretch());
            let index = first.wrapping_add(start as i64 - self.latency() as i64);
            let frame = self.frame(&settings, index, count);
            for (channel, audio) in channels.iter_mut().enumerate() {
                self.print(channel, &mut audio[start..start + count], &frame);
            }
            self.advance(count);
            start += count;
        }
    }

    /// Begins to switch where another machine is asked for; one that comes while another fades in waits.
    fn take(&mut self, settings: &PrintSettings) {
        let asked = place(settings.speed, settings.equalisation);
        if self.fresh {
            self.fresh = false;
            self.heard.machine = asked;
            self.gain.jump(settings.gain_to_tape());
            self.hiss = settings.hiss_flux();
        } else if self.switching.is_none() && asked != self.heard.machine {
            let track = 1 - self.heard.track;
            self.tracks.iter_mut().for_each(|both| both[track].reset());
            self.switching = Some(Switching {
                to: Selection {
                    machine: asked,
                    track,
                },
                warm: (WARM_S * self.sample_rate) as usize,
            });
        }
    }

    /// Samples that may be printed at once: none of the changes falls inside.
    fn stretch(&self) -> usize {
        let frame = FRAME - self.clock;
        match self.switching {
            Some(Switching { warm, .. }) if warm > 0 => frame.min(warm),
            Some(_) => frame.min(self.fade.remaining().max(1)),
            None => frame,
        }
    }

    fn frame(&mut self, settings: &PrintSettings, index: i64, count: usize) -> Frame {
        self.gain.advance(settings.gain_to_tape(), count);
        let fading = self.switching.is_some_and(|s| s.warm == 0);
        Frame {
            count,
            index,
            noise: self.noise(settings.hiss_flux(), count),
            fade: fading.then(|| {
                let mut gains = [1.0; FRAME];
                gains[..count].fill_with(|| self.fade.step());
                gains
            }),
        }
    }

    fn noise(&mut self, wanted: f64, count: usize) -> Option<[NoiseLevels; FRAME]> {
        if self.hiss == 0.0 && wanted == 0.0 {
            return None;
        }
        let step = LOUDEST_HISS / (GLIDE_S * self.sample_rate);
        let saturated = modulation() / (3.0 * SATURATION);
        let mut levels = [NoiseLevels::SILENT; FRAME];
        for (level, output) in levels[..count].iter_mut().zip(self.gain.output()) {
            self.hiss = toward(self.hiss, wanted, step);
            *level = NoiseLevels {
                hiss: self.hiss as f32 * output,
                modulation: (self.hiss * saturated) as f32,
            };
        }
        Some(levels)
    }

    fn print(&mut self, channel: usize, audio: &mut [f32], frame: &Frame) {
        if channel >= self.tracks.len() {
            return;
        }
        let switching = self.switching.map(|switching| {
            let mut other = [0.0; FRAME];
            other[..frame.count].copy_from_slice(audio);
            self.print_on(switching.to, channel, &mut other[..frame.count], frame);
            other
        });
        self.print_on(self.heard, channel, audio, frame);
        if let (Some(other), Some(gains)) = (&switching, &frame.fade) {
            for ((x, new), gain) in audio.iter_mut().zip(other).zip(gains) {
                *x += gain * (*new - *x);
            }
        }
        audio.iter_mut().for_each(|x| *x = clean(*x));
    }

    fn print_on(&mut self, on: Selection, channel: usize, audio: &mut [f32], frame: &Frame) {
        let tuned = &self.machines[on.machine];
        let track = &mut self.tracks[channel][on.track];
        track.print(tuned, &self.oversampler, &self.gain, audio);
        if let Some(levels) = &frame.noise {
            add_noise(
                &tuned.hiss,
                channel as u32,
                frame.index,
                self.sample_rate,
                levels,
                audio,
            );
        }
    }

    /// Moves all that counts samples on.
    fn advance(&mut self, count: usize) {
        self.clock += count;
        if self.clock == FRAME {
            self.clock = 0;
            self.tracks
                .as_flattened_mut()
                .iter_mut()
                .for_each(Track::settle);
        }
        let Some(switching) = &mut self.switching else {
            return;
        };
        if switching.warm > 0 {
            switching.warm -= count;
            if switching.warm == 0 {
                self.fade.start();
            }
        } else if !self.fade.is_running() {
            self.heard = switching.to;
            self.switching = None;
        }
    }
}
