//! Two decks as the shell runs them: a mono sweep in a song, and the settings that the tests share.
//!
//! Promises one set-up for every table of the decks. Called by the tests of this folder; calls the core's `decks` and what
//! all measured tests share.

mod bounces;
mod changes;
mod flutter;
mod flutter_meter;
mod null_point;
mod speed;
mod unheard;

use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::motion::{Curve, Motion, Pace};
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::{SongPosition, Transport};
use plumbline_dsp::decks::{Sweep, SweepSetup};

pub const RATE: f64 = 48_000.0;
pub const BPM: f64 = 108.0;

/// A mono sweep fed with a song at 108 bpm, 4/4, that starts at sample `at` of the song.
pub struct Rig {
    pub sweep: Sweep,
    rate: f64,
    /// Sample of the song at which the next block begins.
    pub at: usize,
    /// Offset in force after each block, seconds.
    pub offsets: Vec<f64>,
}

impl Rig {
    pub fn new(rate: f64, at: usize) -> Self {
        let setup = SweepSetup {
            sample_rate: rate,
            channels: 1,
            delayed_before: 0,
        };
        Self {
            sweep: Sweep::new(setup),
            rate,
            at,
            offsets: Vec::new(),
        }
    }

    fn transport(&self) -> Transport {
        let seconds = self.at as f64 / self.rate;
        Transport::Running(SongPosition {
            seconds,
            beats: seconds * BPM / 60.0,
            tempo_bpm: BPM,
            ..SongPosition::default()
        })
    }

    /// One block in place.
    pub fn block(&mut self, audio: &mut [f32], course: &CourseSettings, mix: &MixSettings) {
        let transport = self.transport();
        self.sweep.process(&mut [audio], course, mix, transport);
        self.at += audio.len();
        self.offsets.push(self.sweep.offset_s());
    }

    /// One block that nobody hears.
    pub fn pass(&mut self, audio: &mut [f32], course: &CourseSettings, mix: &MixSettings) {
        let transport = self.transport();
        self.sweep.pass(&mut [audio], course, mix, transport);
        self.at += audio.len();
        self.offsets.push(self.sweep.offset_s());
    }

    /// All of `audio` in blocks of 64 with settings that depend on the song's sample.
    pub fn run(
        &mut self,
        audio: &mut [f32],
        course: impl Fn(usize) -> CourseSettings,
        mix: &MixSettings,
    ) {
        for block in audio.chunks_mut(64) {
            let settings = course(self.at);
            self.block(block, &settings, mix);
        }
    }
}

pub fn still(offset_s: f64) -> CourseSettings {
    CourseSettings {
        offset_s,
        ..CourseSettings::default()
    }
}

pub fn cycle(curve: Curve, range_s: f64, pace: Pace) -> CourseSettings {
    CourseSettings {
        motion: Motion::Cycle,
        range_s,
        pace,
        curve,
        ..CourseSettings::default()
    }
}

pub fn moving_alone() -> MixSettings {
    MixSettings {
        blend: 1.0,
        ..MixSettings::default()
    }
}

pub fn flipped() -> MixSettings {
    MixSettings {
        flip: true,
        ..MixSettings::default()
    }
}
