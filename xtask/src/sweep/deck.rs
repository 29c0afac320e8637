//! One instance of the built plugin that plays a score, its latency taken out of what it says.

use anyhow::Result;
use plumbline_hosting::{Bundle, Instance, Layout, Session};

use super::score::Score;
use crate::take::BLOCK;

/// The plugin in Sweep mode, its transport rolling.
pub struct Deck {
    instance: Instance,
    score: Score,
    sample_rate: f64,
    /// Sample of the file that goes in next; the roll-in counts up to 0.
    at: i64,
    /// Samples from input to output.
    latency: i64,
}

impl Deck {
    /// Opens the plugin for one or two channels.
    pub fn open(bundle: &Bundle, score: Score, sample_rate: f64, channels: usize) -> Result<Self> {
        let session = Session {
            sample_rate,
            max_block: BLOCK as u32,
            layout: if channels == 1 {
                Layout::Mono
            } else {
                Layout::Stereo
            },
            offline: true,
        };
        let mut instance = bundle.open(&session)?;
        instance.set("mode", 1.0)?;
        score.prepare(&mut instance)?;
        instance.restart()?;
        let at = -(score.roll_in(sample_rate) as i64);
        instance.play_from(Some(score.bars.song(at as f64 / sample_rate)));
        Ok(Self {
            latency: i64::from(instance.latency()),
            instance,
            score,
            sample_rate,
            at,
        })
    }

    /// Samples from input to output.
    pub fn latency(&self) -> usize {
        self.latency as usize
    }

    /// Samples that sound on after the input's end, latency not counted.
    pub fn tail(&mut self) -> Result<usize> {
        Ok((self.instance.tail()? as usize).saturating_sub(self.latency()))
    }

    /// Sample of the file that goes in next.
    pub fn at(&self) -> i64 {
        self.at
    }

    /// Samples until something is set again, at most a block.
    pub fn until_next(&self) -> usize {
        self.score.until_next(self.at, self.sample_rate)
    }

    /// Works in place on one block; what comes out belongs to the file from the returned sample on.
    pub fn play(&mut self, audio: &mut [&mut [f32]]) -> Result<i64> {
        for (id, value) in self.score.moves(self.at, self.sample_rate) {
            self.instance.set(id, value)?;
        }
        let out = self.at - self.latency;
        self.instance.process(audio, &[])?;
        self.at += audio[0].len() as i64;
        Ok(out)
    }
}
