//! One print on two decks: a fixed reader and a moving reader on one delay line, added or subtracted.
//!
//! Promises: at the null point the output is the input, late by the latency, bit for bit; the position is a pure function of
//! the song's position except in the Drag motion; no allocation after `new`. Called by the shell's processor; [`preview`] by
//! its window. Calls `delay`, `math` and `units`; never `measure`.

pub mod automation;
pub mod course;
pub mod cross_fade;
mod distances;
pub mod drag;
pub mod mix;
pub mod motion;
mod pass;
pub mod preview;
pub mod settings;
pub mod slew_limiter;
pub mod song_clock;
pub mod song_position;
mod tempo_line;
pub mod wobble;

use crate::delay::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader, clean};
use crate::delay::resting_reader::RestingReader;
use crate::delay::sinc_kernel::ReadKernel;
use crate::units::sane_rate;
use course::{Course, CourseChunk};
use cross_fade::{CrossFade, CrossFadeChunk};
use mix::{Mix, MixChunk, MixSettings};
use preview::DeckState;
use settings::{CourseSettings, FARTHEST_S};
use song_position::Transport;

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
    /// One a line, of the moving deck.
    readers: Vec<RestingReader>,
    /// Of the offset before a cut.
    old: MovingReader,
    course: Course<MixSettings>,
    mix: Mix,
    cross_fade: CrossFade,
    /// Of the last sample, seconds.
    offset_s: f64,
}

/// Whether anybody hears what comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Listener {
    /// Somebody may.
    Some,
    /// Something else is heard in its place.
    None,
}

/// What one chunk of output is played from.
struct Chunk {
    count: usize,
    /// Offset of the first channel, seconds.
    offsets_s: [f64; CHUNK],
    fade: Option<CrossFadeChunk>,
    mix: MixChunk,
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
            readers: vec![RestingReader::new(MovingReader::new(kernel)); setup.channels],
            old: MovingReader::new(kernel),
            course: Course::new(sample_rate, setup.delayed_before + wait),
            mix: Mix::new(sample_rate),
            cross_fade: CrossFade::new(sample_rate),
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
    pub fn deck_state(&self) -> DeckState {
        self.course.deck_state(self.offset_s)
    }

    /// Silences the lines; the next block begins afresh with its own settings, nothing glides there.
    pub fn reset(&mut self) {
        self.lines.iter_mut().for_each(DelayLine::reset);
        self.readers.iter_mut().for_each(RestingReader::reset);
        self.course.reset();
        self.mix.reset();
        self.cross_fade.reset();
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
        self.run(channels, course, mix, (transport, Listener::Some));
    }

    /// As [`process`](Self::process) where nobody hears what comes out: the lines are filled and the deck goes on, and the
    /// channels are left as they are.
    pub fn pass(
        &mut self,
        channels: &mut [&mut [f32]],
        course: &CourseSettings,
        mix: &MixSettings,
        transport: Transport,
    ) {
        self.run(channels, course, mix, (transport, Listener::None));
    }

    fn run(
        &mut self,
        channels: &mut [&mut [f32]],
        course: &CourseSettings,
        mix: &MixSettings,
        (transport, listener): (Transport, Listener),
    ) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        if length == 0 {
            return;
        }
        self.course.push(course, *mix, transport, length);
        let mut start = 0;
        while start < length {
            let chunk = self.chunk(length - start);
            let end = start + chunk.count;
            for (index, channel) in channels.iter_mut().enumerate() {
                self.play(index, &mut channel[start..end], &chunk, listener);
            }
            start = end;
        }
    }

    /// The next samples' chunk, for at most `most`.
    fn chunk(&mut self, most: usize) -> Chunk {
        let CourseChunk {
            count,
            mut offsets_s,
            depths,
            continuity,
            extra,
        } = self.course.next_chunk(most);
        let fade = self.cross_fade.chunk(continuity, &mut offsets_s[..count]);
        self.offset_s = offsets_s[count - 1];
        let mut mix = self.mix.chunk(&extra, count);
        for (share, depth) in mix.share[..count].iter_mut().zip(depths) {
            *share *= depth;
        }
        Chunk {
            count,
            offsets_s,
            fade,
            mix,
        }
    }

    fn play(&mut self, index: usize, audio: &mut [f32], chunk: &Chunk, listener: Listener) {
        let Some(line) = self.lines.get_mut(index) else {
            return;
        };
        line.push(audio);
        if listener == Listener::None {
            return self.pass_moving(index, chunk);
        }
        let count = audio.len();
        let mut fixed = [0.0; CHUNK];
        self.fixed.read(line, &mut fixed[..count]);
        let MixChunk {
            share, polarity, ..
        } = &chunk.mix;
        if share[..count].iter().all(|share| *share == 0.0) {
            audio.copy_from_slice(&fixed[..count]);
            return self.pass_moving(index, chunk);
        }
        let mut moving = [0.0; CHUNK];
        self.read_moving(index, chunk, &mut moving[..count]);
        for (n, out) in audio.iter_mut().enumerate() {
            let difference = polarity[n] * moving[n] - fixed[n];
            *out = clean(fixed[n] + share[n] * difference);
        }
    }

    fn read_moving(&mut self, index: usize, chunk: &Chunk, out: &mut [f32]) {
        let delays = |offsets_s: &[f64; CHUNK]| -> [f64; CHUNK] {
            std::array::from_fn(|n| self.delay(index, offsets_s[n], chunk.mix.width[n]))
        };
        let count = out.len();
        let new = delays(&chunk.offsets_s);
        let before = chunk.fade.as_ref().map(|fade| delays(&fade.old_s));
        let line = &self.lines[index];
        self.readers[index].read(line, &new[..count], out);
        if let (Some(fade), Some(before)) = (&chunk.fade, before) {
            let mut old = [0.0; CHUNK];
            self.old.read(line, &before[..count], &mut old[..count]);
            fade.mix(out, &old);
        }
    }

    /// Nobody hears the moving deck in this chunk.
    fn pass_moving(&mut self, index: usize, chunk: &Chunk) {
        let last = chunk.count - 1;
        let delay = self.delay(index, chunk.offsets_s[last], chunk.mix.width[last]);
        self.readers[index].pass(delay);
    }

    /// Samples that the moving deck reads back.
    fn delay(&self, index: usize, offset_s: f64, width: f64) -> f64 {
        let width = if index == 0 { 1.0 } else { width };
        let offset = offset_s * self.sample_rate * width;
        let (nearest, wait) = (self.kernel.half() as f64, self.wait as f64);
        (wait + offset).clamp(nearest, self.farthest)
    }
}
