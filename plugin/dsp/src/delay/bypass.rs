//! The dry signal beside the processed one: the same latency, a cross-fade of 20 ms, bit for bit when settled.

use crate::delay::delay_line::{DelayLine, clean};
use crate::math::ramp::{GLIDE_S, Ramp};
use crate::units::sane_rate;

/// Which of the two signals comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Source {
    /// What the plugin has made of the input.
    #[default]
    Processed,
    /// The input, delayed by the latency.
    Dry,
}

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BypassSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// Channels of the main bus.
    pub channels: usize,
    /// Delay of the dry signal: the latency of everything between `push` and `mix`, samples.
    pub latency: usize,
    /// Most samples of one block.
    pub longest_block: usize,
}

/// Delays the input by the latency and cross-fades to it. In a block: `push` the input, process it, `mix`.
#[derive(Debug)]
pub struct Bypass {
    setup: BypassSetup,
    lines: Vec<DelayLine>,
    source: Source,
    asked: Source,
    /// From the other signal to `source`.
    fade: Ramp,
}

impl Bypass {
    /// Allocates the lines.
    pub fn new(setup: BypassSetup) -> Self {
        let length = setup.latency + setup.longest_block.max(1);
        Self {
            setup,
            lines: (0..setup.channels)
                .map(|_| DelayLine::new(length))
                .collect(),
            source: Source::default(),
            asked: Source::default(),
            fade: Ramp::new(GLIDE_S, sane_rate(setup.sample_rate)),
        }
    }

    /// Silences the lines and jumps to the source asked for last.
    pub fn reset(&mut self) {
        self.lines.iter_mut().for_each(DelayLine::reset);
        self.source = self.asked;
        self.fade.finish();
    }

    /// What comes out from now on, after a fade; a change during a fade waits until it ends.
    pub fn set_source(&mut self, source: Source) {
        self.asked = source;
    }

    /// True when only the dry signal comes out.
    pub fn is_settled_dry(&self) -> bool {
        (self.source, self.asked) == (Source::Dry, Source::Dry) && !self.fade.is_running()
    }

    /// Takes the input of one block, at most the longest block.
    pub fn push<C: AsRef<[f32]>>(&mut self, channels: &[C]) {
        for (line, channel) in self.lines.iter_mut().zip(channels) {
            line.push(channel.as_ref());
        }
    }

    /// The input of one channel as late as the processed block, as long as `push` took just before.
    pub fn dry(&self, channel: usize, length: usize) -> &[f32] {
        let line = self.lines.get(channel);
        line.map_or(&[], |line| {
            line.span(self.setup.latency + length - 1, length)
        })
    }

    /// Fades the processed block towards the source asked for. The same lengths as `push` took just before.
    pub fn mix(&mut self, channels: &mut [&mut [f32]]) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut start = 0;
        while start < length {
            self.start_fade_if_asked();
            let end = match self.fade.remaining() {
                0 => length,
                remaining => length.min(start + remaining),
            };
            self.mix_range(channels, start..end, length);
            start = end;
        }
    }

    fn start_fade_if_asked(&mut self) {
        if self.asked != self.source && !self.fade.is_running() {
            self.source = self.asked;
            self.fade.start();
        }
    }

    fn mix_range(
        &mut self,
        channels: &mut [&mut [f32]],
        range: std::ops::Range<usize>,
        length: usize,
    ) {
        let age = self.setup.latency + length - 1 - range.start;
        let mut fade = self.fade;
        for (line, channel) in self.lines.iter().zip(channels) {
            fade = self.fade;
            let dry = line.span(age, range.len());
            mix_channel(dry, &mut channel[range.clone()], self.source, &mut fade);
        }
        self.fade = fade;
    }
}

fn mix_channel(dry: &[f32], processed: &mut [f32], source: Source, fade: &mut Ramp) {
    match (source, fade.is_running()) {
        (Source::Processed, false) => {}
        (Source::Dry, false) => processed.copy_from_slice(dry),
        (Source::Processed, true) => {
            for (processed, &dry) in processed.iter_mut().zip(dry) {
                *processed = clean(dry + fade.step() * (*processed - dry));
            }
        }
        (Source::Dry, true) => {
            for (processed, &dry) in processed.iter_mut().zip(dry) {
                *processed = clean(*processed + fade.step() * (dry - *processed));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SETUP: BypassSetup = BypassSetup {
        sample_rate: 48_000.0,
        channels: 1,
        latency: 100,
        longest_block: 512,
    };

    /// Input 1, 2, 3, ... in blocks of `block`; the work turns it into minus one. Dry from sample 2000 to 6000.
    fn run(block: usize) -> Vec<f32> {
        let mut bypass = Bypass::new(SETUP);
        let mut out = Vec::new();
        while out.len() < 9000 {
            let at = out.len();
            match at {
                2000 => bypass.set_source(Source::Dry),
                6000 => bypass.set_source(Source::Processed),
                _ => {}
            }
            let input: Vec<f32> = (at..at + block).map(|i| i as f32 + 1.0).collect();
            let mut processed = vec![-1.0; block];
            bypass.push(&[&input]);
            bypass.mix(&mut [&mut processed]);
            out.extend(processed);
        }
        out.truncate(9000);
        out
    }

    #[test]
    fn dry_is_the_input_late_by_the_latency() {
        let out = run(500);
        assert!(out[..2000].iter().all(|x| *x == -1.0));
        for (i, y) in out.iter().enumerate().take(6000).skip(2960) {
            assert_eq!(*y, (i + 1 - 100) as f32);
        }
        assert!(out[6960..].iter().all(|x| *x == -1.0));
    }

    #[test]
    fn the_split_of_the_blocks_does_not_matter() {
        assert_eq!(run(500), run(1));
        assert_eq!(run(500), run(40));
    }

    #[test]
    fn asked_before_the_start_it_is_dry_from_the_start() {
        let mut bypass = Bypass::new(SETUP);
        bypass.set_source(Source::Dry);
        bypass.reset();
        assert!(bypass.is_settled_dry());
        let mut processed = [7.0; 200];
        bypass.push(&[[2.0; 200]]);
        bypass.mix(&mut [&mut processed]);
        assert_eq!(processed[..100], [0.0; 100]);
        assert_eq!(processed[100..], [2.0; 100]);
    }
}
