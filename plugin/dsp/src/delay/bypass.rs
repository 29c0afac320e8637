//! The dry signal beside the worked one: the same latency, a cross-fade of 20 ms, bit for bit when settled.

use crate::delay::delay_line::{DelayLine, clean};
use crate::math::ramp::{GLIDE_S, Ramp};
use crate::units::sane_rate;

/// Which of the two is heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Heard {
    /// The plugin's work.
    #[default]
    Worked,
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
    /// Delay of the dry signal: the latency of everything between `listen` and `mix`, samples.
    pub latency: usize,
    /// Most samples of one block.
    pub longest_block: usize,
}

/// Keeps the input and gives it back in time. In a block: `listen` to the input, work on it, `mix`.
#[derive(Debug)]
pub struct Bypass {
    setup: BypassSetup,
    lines: Vec<DelayLine>,
    heard: Heard,
    asked: Heard,
    /// From the other signal to the one that is heard.
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
            heard: Heard::default(),
            asked: Heard::default(),
            fade: Ramp::new(GLIDE_S, sane_rate(setup.sample_rate)),
        }
    }

    /// Silences the lines and jumps to what was asked for last.
    pub fn reset(&mut self) {
        self.lines.iter_mut().for_each(DelayLine::reset);
        self.heard = self.asked;
        self.fade.finish();
    }

    /// What should be heard from now on; a change during a fade waits until it ends.
    pub fn set_heard(&mut self, heard: Heard) {
        self.asked = heard;
    }

    /// True when only the dry signal is heard.
    pub fn is_settled_dry(&self) -> bool {
        (self.heard, self.asked) == (Heard::Dry, Heard::Dry) && !self.fade.is_running()
    }

    /// Takes the input of one block, at most the longest block.
    pub fn listen<C: AsRef<[f32]>>(&mut self, channels: &[C]) {
        for (line, channel) in self.lines.iter_mut().zip(channels) {
            line.push(channel.as_ref());
        }
    }

    /// Fades the worked block towards what should be heard. The same lengths as `listen` took just before.
    pub fn mix(&mut self, channels: &mut [&mut [f32]]) {
        let length = channels.iter().map(|c| c.len()).min().unwrap_or(0);
        let mut start = 0;
        while start < length {
            self.start_fade_if_asked();
            let end = match self.fade.remaining() {
                0 => length,
                remaining => length.min(start + remaining),
            };
            self.mix_stretch(channels, start..end, length);
            start = end;
        }
    }

    fn start_fade_if_asked(&mut self) {
        if self.asked != self.heard && !self.fade.is_running() {
            self.heard = self.asked;
            self.fade.start();
        }
    }

    fn mix_stretch(
        &mut self,
        channels: &mut [&mut [f32]],
        place: std::ops::Range<usize>,
        length: usize,
    ) {
        let age = self.setup.latency + length - 1 - place.start;
        let mut fade = self.fade;
        for (line, channel) in self.lines.iter().zip(channels) {
            fade = self.fade;
            let dry = line.span(age, place.len());
            mix_channel(dry, &mut channel[place.clone()], self.heard, &mut fade);
        }
        self.fade = fade;
    }
}

fn mix_channel(dry: &[f32], worked: &mut [f32], heard: Heard, fade: &mut Ramp) {
    match (heard, fade.is_running()) {
        (Heard::Worked, false) => {}
        (Heard::Dry, false) => worked.copy_from_slice(dry),
        (Heard::Worked, true) => {
            for (worked, &dry) in worked.iter_mut().zip(dry) {
                *worked = clean(dry + fade.step() * (*worked - dry));
            }
        }
        (Heard::Dry, true) => {
            for (worked, &dry) in worked.iter_mut().zip(dry) {
                *worked = clean(*worked + fade.step() * (dry - *worked));
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
                2000 => bypass.set_heard(Heard::Dry),
                6000 => bypass.set_heard(Heard::Worked),
                _ => {}
            }
            let input: Vec<f32> = (at..at + block).map(|i| i as f32 + 1.0).collect();
            let mut worked = vec![-1.0; block];
            bypass.listen(&[&input]);
            bypass.mix(&mut [&mut worked]);
            out.extend(worked);
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
        bypass.set_heard(Heard::Dry);
        bypass.reset();
        assert!(bypass.is_settled_dry());
        let mut worked = [7.0; 200];
        bypass.listen(&[[2.0; 200]]);
        bypass.mix(&mut [&mut worked]);
        assert_eq!(worked[..100], [0.0; 100]);
        assert_eq!(worked[100..], [2.0; 100]);
    }
}
