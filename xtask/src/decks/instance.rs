//! One instance of the built plugin in Sweep mode under automation, with its output counted in samples of the file.

use anyhow::Result;
use plumbline_hosting::{Bundle, Instance, Layout, Session};

use super::automation::Automation;
use crate::audio::BLOCK;

/// The plugin in Sweep mode, its transport rolling.
pub struct SweepInstance {
    instance: Instance,
    automation: Automation,
    sample_rate: f64,
    /// Sample of the file that goes in next; negative in the pre-roll.
    at: i64,
    /// Samples from input to output.
    latency: i64,
}

impl SweepInstance {
    /// Opens the plugin for one or two channels.
    pub fn open(
        bundle: &Bundle,
        automation: Automation,
        sample_rate: f64,
        channels: usize,
    ) -> Result<Self> {
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
        automation.prepare(&mut instance)?;
        instance.restart()?;
        let at = -(automation.pre_roll(sample_rate) as i64);
        instance.play_from(Some(automation.bars.song(at as f64 / sample_rate)));
        Ok(Self {
            latency: i64::from(instance.latency()),
            instance,
            automation,
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
        self.automation.until_next(self.at, self.sample_rate)
    }

    /// Works in place on one block; what comes out belongs to the file from the returned sample on.
    pub fn play(&mut self, audio: &mut [&mut [f32]]) -> Result<i64> {
        for (id, value) in self.automation.changes_at(self.at, self.sample_rate) {
            self.instance.set(id, value)?;
        }
        let out = self.at - self.latency;
        self.instance.process(audio, &[])?;
        self.at += audio[0].len() as i64;
        Ok(out)
    }
}
