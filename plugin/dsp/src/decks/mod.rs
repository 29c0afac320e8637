//! One print on two decks: a fixed reader and a moving reader on one delay line, added or subtracted.
//!
//! Promises: at the null point the output is the input, late by the latency, bit for bit; the position is a pure function of
//! the song's position except in the Drag motion; no allocation after `new`. Called by the shell's processor; [`preview`] by
//! its window. Calls `delay`, `math` and `units`; never `measure`.

pub mod automation;
pub mod course;
pub mod cross_fade;
pub mod drag;
pub mod mix;
pub mod motion;
pub mod preview;
pub mod settings;
pub mod slew_limiter;
pub mod song_clock;
pub mod wobble;

use crate::delay::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader, clean};
use crate::delay::sinc_kernel::ReadKernel;
use crate::units::sane_rate;
use course::{Course, Stretch};
use cross_fade::{Fade, Splice};
use mix::{Levels, Mix, MixSettings};
use preview::Bearings;
use settings::{CourseSettings, FARTHEST_S};
use song_clock::Transport;

/// Room behind the farthest offset for wow, seconds: 0.5 % of weighted wow swings the offset by 6 ms.
const WOW_ROOM_S: f64 = 0.012;
/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SweepSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// One or two.
    pub channels: usize,
    /// Samples that the audio was delayed since the plugin's input when it comes here: the alignment's latency.
    pub delayed_before: usize,
}

/// The sweep section of one instance.
///
/// At the null point the output is the input, `latency` samples late, bit for bit, at any blend; with `flip` and equal
/// blend it is silence. Settings act on the audio they came in with, not on the audio that comes out meanwhile.
#[derive(Debug)]
pub struct Sweep {
    sample_rate: f64,
    kernel: ReadKernel,
    /// Samples that the fixed deck stands behind: the farthest lead and half a kernel.
    wait: usize,
    /// Farthest that the lines can be read back, samples.
    farthest: f64,
    lines: Vec<DelayLine>,
    fixed: FixedReader,
    moving: MovingReader,
    course: Course<MixSettings>,
    mix: Mix,
    splice: Splice,
    /// Of the last sample, seconds.
    offset_s: f64,
}

/// What one chunk of output is played from.
struct Score {
    count: usize,
    /// Offset of the first channel, seconds.
    offsets_s: [f64; CHUNK],
    fade: Option<Fade>,
    levels: Levels,
}

/// Samples from input to output of the fixed deck at this rate: 12 ms + half a kernel, whole samples.
pub fn latency(sample_rate: f64) -> usize {
    let sample_rate = sane_rate(sample_rate);
    // 12 ms at 48 kHz are 576 samples whatever the last bit of the product says.
    let lead = (FARTHEST_S * sample_rate - 1e-6).ceil() as usize;
    lead + ReadKernel::for_rate(sample_rate).half()
}

impl Sweep {
    /// Allocates the lines.
    pub fn new(setup: SweepSetup) -> Self {
        let sample_rate = sane_rate(setup.sample_rate);
        let kernel = ReadKernel::for_rate(sample_rate);
        let wait = latency(sample_rate);
        let room = ((FARTHEST_S + WOW_ROOM_S) * sample_rate).ceil() as usize;
        let farthest = wait + room;
        let line = || DelayLine::new(farthest + kernel.half() + CHUNK + 1);
        Self {
            sample_rate,
            kernel,
            wait,
            farthest: farthest as f64,
            lines: (0..setup.channels).map(|_| line()).collect(),
            fixed: FixedReader::new(kernel, wait as f64),
            moving: MovingReader::new(kernel),
            course: Course::new(sample_rate, setup.delayed_before + wait),
            mix: Mix::new(sample_rate),
            splice: Splice::new(sample_rate),
            offset_s: 0.0,
        }
    }

    /// See [`latency`].
    pub fn latency(&self) -> usize {
        self.wait
    }

    /// Samples that still sound after the input's end, latency included.
    pub fn tail(&self) -> usize {
        self.farthest as usize + self.kernel.half()
    }

    /// Moving deck minus fixed deck in the last sample that came out, seconds.
    pub fn offset_s(&self) -> f64 {
        self.offset_s
    }

    /// Where the moving deck is in the last sample that came out.
    pub fn bearings(&self) -> Bearings {
        self.course.bearings(self.offset_s)
    }

    /// Silences the lines; the next block begins afresh with its own settings, nothing glides there.
    pub fn reset(&mut self) {
        self.lines.iter_mut().for_each(DelayLine::reset);
        self.course.reset();
        self.mix.reset();
        self.splice.reset();
    }

    /// Works in place on `channels[c][..]`, all of one length. Settings and transport are those of the block's first
    /// sample at the plugin's input. Non-finite samples are read as silence.
    pub fn process(
        &mut self,
        channels: &mut [&mut [f32]],
        course: &CourseSettings,
        mix: &MixSettings,
        transport: Transport,
    ) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        if length == 0 {
            return;
        }
        self.course.take(course, *mix, transport, length);
        let mut start = 0;
        while start < length {
            let score = self.score(length - start);
            let end = start + score.count;
            for (index, channel) in channels.iter_mut().enumerate() {
                self.play(index, &mut channel[start..end], &score);
            }
            start = end;
        }
    }

    /// The next samples' score, for at most `most`.
    fn score(&mut self, most: usize) -> Score {
        let Stretch {
            count,
            mut offsets_s,
            continuity,
            rest,
        } = self.course.stretch(most);
        let fade = self.splice.play(continuity, &mut offsets_s[..count]);
        self.offset_s = offsets_s[count - 1];
        Score {
            count,
            offsets_s,
            fade,
            levels: self.mix.play(&rest, count),
        }
    }

    fn play(&mut self, index: usize, audio: &mut [f32], score: &Score) {
        let Some(line) = self.lines.get_mut(index) else {
            return;
        };
        line.push(audio);
        let count = audio.len();
        let mut fixed = [0.0; CHUNK];
        self.fixed.read(line, &mut fixed[..count]);
        let width = match index {
            0 => &[1.0; CHUNK],
            _ => &score.levels.width,
        };
        let mut moving = [0.0; CHUNK];
        self.read_moving(index, &score.offsets_s, width, &mut moving[..count]);
        if let Some(fade) = &score.fade {
            let mut old = [0.0; CHUNK];
            self.read_moving(index, &fade.old_s, width, &mut old[..count]);
            fade.mix(&mut moving[..count], &old);
        }
        let Levels { share, side, .. } = &score.levels;
        for (n, out) in audio.iter_mut().enumerate() {
            let difference = side[n] * moving[n] - fixed[n];
            *out = clean(fixed[n] + share[n] * difference);
        }
    }

    fn read_moving(
        &self,
        index: usize,
        offsets_s: &[f64; CHUNK],
        width: &[f64; CHUNK],
        out: &mut [f32],
    ) {
        let (nearest, wait) = (self.kernel.half() as f64, self.wait as f64);
        let mut delays = [0.0; CHUNK];
        for (n, delay) in delays.iter_mut().enumerate() {
            let offset = offsets_s[n] * self.sample_rate * width[n];
            *delay = (wait + offset).clamp(nearest, self.farthest);
        }
        let line = &self.lines[index];
        self.moving.read(line, &delays[..out.len()], out);
    }
}
