//! One print on two decks: a fixed reader and a moving reader on one delay line, added or subtracted.

use crate::course::{Continuity, Course, CourseSettings, FARTHEST_S};
use crate::delay_line::{CHUNK, DelayLine, FixedReader, MovingReader, clean};
use crate::ramp::{GLIDE_S, Ramp, toward};
use crate::read_kernel::ReadKernel;
use crate::song::Transport;
use crate::units::sane_rate;

/// Room behind the farthest offset for wow, seconds: 0.5 % of weighted wow swings the offset by 6 ms.
const WOW_ROOM_S: f64 = 0.012;
/// How fast the width may change, whole widths a second: 12 ms of offset then move at under 5 %.
const WIDTH_PER_S: f64 = 4.0;

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

/// How the two decks are heard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MixSettings {
    /// Off: the fixed deck alone.
    pub engage: bool,
    /// 0 the fixed deck, 0.5 both alike, 1 the moving deck.
    pub blend: f64,
    /// The moving deck is turned over.
    pub flip: bool,
    /// The second channel's offset as a part of the first's, -1 to 1.
    pub width: f64,
}

impl Default for MixSettings {
    fn default() -> Self {
        Self {
            engage: true,
            blend: 0.5,
            flip: false,
            width: 1.0,
        }
    }
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

/// What one chunk of output needs, sample by sample.
struct Score {
    /// Offset of the first channel, samples.
    offsets: [f64; CHUNK],
    /// The same before the last cut.
    old_offsets: [f64; CHUNK],
    /// From the old offset to the new one; `None` when there is nothing to fade.
    spliced: Option<[f32; CHUNK]>,
    width: [f64; CHUNK],
    /// Part of the moving deck in the sum.
    share: [f32; CHUNK],
    /// 1 upright, -1 turned over.
    side: [f32; CHUNK],
}

impl Sweep {
    /// Allocates the lines.
    pub fn new(setup: SweepSetup) -> Self {
        let sample_rate = sane_rate(setup.sample_rate);
        let kernel = ReadKernel::for_rate(sample_rate);
        let wait = (FARTHEST_S * sample_rate - 1e-6).ceil() as usize + kernel.half();
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

    /// Samples from input to output of the fixed deck: 12 ms + half a kernel, whole samples.
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

    /// Silences the lines; the next block begins afresh with its own settings, nothing glides there.
    pub fn reset(&mut self) {
        self.lines.iter_mut().for_each(DelayLine::reset);
        self.course.reset();
        self.mix.jump = true;
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
            let (score, count) = self.score(length - start);
            let end = start + count;
            for (index, channel) in channels.iter_mut().enumerate() {
                self.play(index, &mut channel[start..end], &score);
            }
            start = end;
        }
    }

    /// The next samples' score, at most `most`, and how many.
    fn score(&mut self, most: usize) -> (Score, usize) {
        let stretch = self.course.stretch(most);
        let count = stretch.count;
        let mut score = Score {
            offsets: stretch.offsets_s,
            old_offsets: [0.0; CHUNK],
            spliced: None,
            width: [1.0; CHUNK],
            share: [0.0; CHUNK],
            side: [1.0; CHUNK],
        };
        self.mix.step_all(&stretch.rest, count, &mut score);
        self.splice.step_all(stretch.continuity, count, &mut score);
        self.offset_s = score.offsets[count - 1];
        for offsets in [&mut score.offsets, &mut score.old_offsets] {
            offsets.iter_mut().for_each(|x| *x *= self.sample_rate);
        }
        (score, count)
    }

    fn play(&mut self, index: usize, audio: &mut [f32], score: &Score) {
        let Some(line) = self.lines.get_mut(index) else {
            return;
        };
        line.push(audio);
        let count = audio.len();
        let line = &self.lines[index];
        let mut fixed = [0.0; CHUNK];
        self.fixed.read(line, &mut fixed[..count]);
        let mut moving = [0.0; CHUNK];
        self.read_moving(
            line,
            index,
            &score.offsets,
            &score.width,
            &mut moving[..count],
        );
        if let Some(gains) = &score.spliced {
            let mut old = [0.0; CHUNK];
            self.read_moving(
                line,
                index,
                &score.old_offsets,
                &score.width,
                &mut old[..count],
            );
            splice(&mut moving[..count], &old, gains);
        }
        for (n, out) in audio.iter_mut().enumerate() {
            let difference = score.side[n] * moving[n] - fixed[n];
            *out = clean(fixed[n] + score.share[n] * difference);
        }
    }

    fn read_moving(
        &self,
        line: &DelayLine,
        index: usize,
        offsets: &[f64; CHUNK],
        width: &[f64; CHUNK],
        out: &mut [f32],
    ) {
        let (nearest, wait) = (self.kernel.half() as f64, self.wait as f64);
        let mut delays = [0.0; CHUNK];
        for (n, delay) in delays[..out.len()].iter_mut().enumerate() {
            let part = if index == 0 { 1.0 } else { width[n] };
            *delay = (wait + offsets[n] * part).clamp(nearest, self.farthest);
        }
        self.moving.read(line, &delays[..out.len()], out);
    }
}

fn splice(moving: &mut [f32], old: &[f32; CHUNK], gains: &[f32; CHUNK]) {
    for ((new, &old), &gain) in moving.iter_mut().zip(old).zip(gains) {
        if gain < 1.0 {
            *new = old + gain * (*new - old);
        }
    }
}

/// Where the mix should be.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Wanted {
    width: f64,
    /// Part of the moving deck in the sum.
    share: f64,
    /// 1 upright, -1 turned over.
    side: f64,
}

/// The mix's own glides.
#[derive(Clone, Debug)]
struct Mix {
    now: Wanted,
    /// Greatest change of share and side in one sample, and of the width.
    step: f64,
    width_step: f64,
    /// The next settings are taken at once.
    jump: bool,
}

impl Mix {
    fn new(sample_rate: f64) -> Self {
        Self {
            now: Wanted::new(&MixSettings::default()),
            step: 1.0 / (GLIDE_S * sample_rate),
            width_step: WIDTH_PER_S / sample_rate,
            jump: true,
        }
    }

    /// Width, share and side of the next `count` samples.
    fn step_all(&mut self, settings: &MixSettings, count: usize, score: &mut Score) {
        let wanted = Wanted::new(settings);
        if self.jump {
            self.now = wanted;
            self.jump = false;
        }
        if self.now == wanted {
            score.width.fill(wanted.width);
            score.share.fill(wanted.share as f32);
            score.side.fill(wanted.side as f32);
            return;
        }
        for n in 0..count {
            let now = &mut self.now;
            now.width = toward(now.width, wanted.width, self.width_step);
            now.share = toward(now.share, wanted.share, self.step);
            now.side = toward(now.side, wanted.side, 2.0 * self.step);
            score.width[n] = now.width;
            score.share[n] = now.share as f32;
            score.side[n] = now.side as f32;
        }
    }
}

impl Wanted {
    fn new(settings: &MixSettings) -> Self {
        let within = |x: f64, least: f64| {
            if x.is_finite() {
                x.clamp(least, 1.0)
            } else {
                0.0
            }
        };
        Self {
            width: within(settings.width, -1.0),
            share: if settings.engage {
                within(settings.blend, 0.0)
            } else {
                0.0
            },
            side: if settings.flip { -1.0 } else { 1.0 },
        }
    }
}

/// Cross-fades the moving deck over a cut: the old course stands still while the new one fades in.
#[derive(Clone, Debug)]
struct Splice {
    fade: Ramp,
    old_s: f64,
    /// Where the new side stands still because of a second cut during the fade.
    held: Option<f64>,
    /// Of the last sample.
    new_s: f64,
}

impl Splice {
    fn new(sample_rate: f64) -> Self {
        Self {
            fade: Ramp::new(GLIDE_S, sample_rate),
            old_s: 0.0,
            held: None,
            new_s: 0.0,
        }
    }

    fn reset(&mut self) {
        self.fade.finish();
        self.held = None;
    }

    /// Fades the next `count` offsets of the score.
    fn step_all(&mut self, continuity: Continuity, count: usize, score: &mut Score) {
        if continuity == Continuity::Cut {
            self.cut();
        }
        if self.held.is_some() || self.fade.is_running() {
            let mut gains = [1.0; CHUNK];
            for (n, gain) in gains[..count].iter_mut().enumerate() {
                *gain = self.step(&mut score.offsets[n], &mut score.old_offsets[n]);
            }
            score.spliced = Some(gains);
        }
        self.new_s = score.offsets[count - 1];
    }

    fn cut(&mut self) {
        if self.fade.is_running() {
            self.held.get_or_insert(self.new_s);
        } else {
            self.start();
        }
    }

    fn step(&mut self, new_s: &mut f64, old_s: &mut f64) -> f32 {
        if !self.fade.is_running() && self.held.take().is_some() {
            self.start();
        }
        self.new_s = self.held.unwrap_or(*new_s);
        *new_s = self.new_s;
        *old_s = self.old_s;
        self.fade.step()
    }

    fn start(&mut self) {
        self.old_s = self.new_s;
        self.fade.start();
    }
}
