//! One print on two decks: a fixed reader and a moving reader on one delay line, added or subtracted.
//!
//! Promises: at the null point the output is the input, late by the latency, bit for bit; the position is a pure function of
//! the song's position except in the Drag motion; no allocation after `new`. Called by the shell's processor; [`preview`] by
//! its window. Calls `delay`, `math` and `units`; never `measure`.

pub mod automation;
pub mod course;
pub mod cross_fade;
mod depth;
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
mod travel;
pub mod values;
pub mod wobble;

use crate::delay::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader};
use crate::delay::resting_reader::RestingReader;
use crate::delay::sinc_kernel::ReadKernel;
use crate::units::sane_rate;
use course::{Continuity, Course, CourseChunk};
use cross_fade::{CrossFade, CrossFadeChunk};
use mix::{Mix, MixChunk, MixSettings};
use preview::DeckState;
use settings::{CourseSettings, FARTHEST_S};
use song_position::Transport;
use values::Values;

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
    /// Whether the moving deck is heard.
    moving: Listener,
    /// Offset of the first channel, seconds; where the moving deck is not heard, the last one is right and the others mean
    /// nothing.
    offsets_s: Values<f64>,
    fade: Option<CrossFadeChunk>,
    mix: MixChunk,
}

impl Chunk {
    /// Empty, to be filled in place.
    fn new(listener: Listener) -> Self {
        Self {
            count: 0,
            moving: listener,
            offsets_s: Values::Resting(0.0),
            fade: None,
            mix: MixChunk::default(),
        }
    }
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
            let mut chunk = Chunk::new(listener);
            self.next_chunk(length - start, &mut chunk);
            let end = start + chunk.count;
            match channels {
                [first, second] if self.moves_as_one(&chunk) => {
                    let audio = [&mut first[start..end], &mut second[start..end]];
                    self.play(0, audio, &chunk, listener);
                }
                _ => {
                    for (index, channel) in channels.iter_mut().enumerate() {
                        self.play(index, [&mut channel[start..end]], &chunk, listener);
                    }
                }
            }
            start = end;
        }
    }

    /// Fills the next samples' chunk, at most `most` of them.
    fn next_chunk(&mut self, most: usize, chunk: &mut Chunk) {
        let CourseChunk {
            count,
            continuity,
            extra,
        } = self.course.next_chunk(most);
        chunk.count = count;
        self.mix.next(&extra, count, &mut chunk.mix);
        if chunk.mix.is_fixed_alone() {
            chunk.moving = Listener::None;
        }
        let unbroken = continuity == Continuity::Unbroken && !self.cross_fade.is_under_way();
        if chunk.moving == Listener::None && unbroken {
            self.offset_s = self.course.last_offset(count);
            self.cross_fade.pass(self.offset_s);
            chunk.offsets_s = Values::Resting(self.offset_s);
        } else {
            let mut depths = Values::Resting(1.0);
            self.course
                .offsets(count, &mut chunk.offsets_s, &mut depths);
            chunk.mix.deepen(&depths, count);
            chunk.fade = self
                .cross_fade
                .chunk(continuity, &mut chunk.offsets_s, count);
            self.offset_s = chunk.offsets_s.at(count - 1);
        }
    }

    /// Both channels are read at the same delays, one after another.
    fn moves_as_one(&self, chunk: &Chunk) -> bool {
        let [first, second] = &self.readers[..] else {
            return false;
        };
        chunk.mix.width == Values::Resting(1.0) && first.stands_with(second)
    }

    /// Plays so many channels from `index` on; several only where they move as one.
    fn play<const CHANNELS: usize>(
        &mut self,
        index: usize,
        mut audio: [&mut [f32]; CHANNELS],
        chunk: &Chunk,
        listener: Listener,
    ) {
        let Some(lines) = self.lines.get_mut(index..index + CHANNELS) else {
            return;
        };
        for (line, audio) in lines.iter_mut().zip(&mut audio) {
            line.push(audio);
            if listener == Listener::Some {
                self.fixed.read(line, audio);
            }
        }
        let width = match index {
            0 => &Values::Resting(1.0),
            _ => &chunk.mix.width,
        };
        if chunk.moving == Listener::Some && !self.stands_at_null(chunk, width) {
            let mut moving = [[0.0; CHUNK]; CHANNELS];
            let parts = moving.each_mut().map(|part| &mut part[..chunk.count]);
            self.read_moving(index, chunk, width, parts);
            for (audio, moving) in audio.into_iter().zip(&moving) {
                chunk.mix.add(audio, &moving[..chunk.count]);
            }
        }
        // Heard or not, read alone or by the first: all have come to the last sample's delay.
        let last = chunk.count - 1;
        let last = self.delay(chunk.offsets_s.at(last), width.at(last));
        let readers = &mut self.readers[index..index + CHANNELS];
        readers.iter_mut().for_each(|reader| reader.pass(last));
    }

    /// Both decks play the same.
    fn stands_at_null(&self, chunk: &Chunk, width: &Values<f64>) -> bool {
        match (&chunk.offsets_s, width, &chunk.mix.polarity) {
            (Values::Resting(offset_s), Values::Resting(width), Values::Resting(1.0)) => {
                chunk.fade.is_none() && self.delay(*offset_s, *width) == self.wait as f64
            }
            _ => false,
        }
    }

    /// With the first channel's reader.
    fn read_moving<const CHANNELS: usize>(
        &mut self,
        index: usize,
        chunk: &Chunk,
        width: &Values<f64>,
        mut outs: [&mut [f32]; CHANNELS],
    ) {
        let lines: [&DelayLine; CHANNELS] = std::array::from_fn(|n| &self.lines[index + n]);
        let parts = outs.each_mut().map(|out| &mut **out);
        if let (Values::Resting(offset_s), Values::Resting(width)) = (&chunk.offsets_s, width) {
            let delay = self.delay(*offset_s, *width);
            self.readers[index].read_at(lines, delay, parts);
        } else {
            let delays = self.delays(&chunk.offsets_s, width);
            self.readers[index].read(lines, &delays[..chunk.count], parts);
        }
        if let Some(fade) = &chunk.fade {
            let before = self.delays(&fade.old_s, width);
            let mut old = [[0.0; CHUNK]; CHANNELS];
            let parts = old.each_mut().map(|part| &mut part[..chunk.count]);
            self.old.read_older(lines, 0, &before[..chunk.count], parts);
            for (out, old) in outs.into_iter().zip(&old) {
                fade.mix(out, old);
            }
        }
    }

    /// Samples that the moving deck reads back, for every sample of a chunk.
    fn delays(&self, offsets_s: &Values<f64>, width: &Values<f64>) -> [f64; CHUNK] {
        match (offsets_s, width) {
            // Most of the time: all at once.
            (Values::Moving(offsets_s), Values::Resting(width)) => {
                offsets_s.map(|offset_s| self.delay(offset_s, *width))
            }
            _ => std::array::from_fn(|n| self.delay(offsets_s.at(n), width.at(n))),
        }
    }

    /// Samples that the moving deck reads back.
    #[inline(always)]
    fn delay(&self, offset_s: f64, width: f64) -> f64 {
        let offset = offset_s * self.sample_rate * width;
        let (nearest, wait) = (self.kernel.half() as f64, self.wait as f64);
        (wait + offset).clamp(nearest, self.farthest)
    }
}
