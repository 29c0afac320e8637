//! All stages of one mode in a row.

use super::modes::stages;
use super::stage::{Controls, Stage, StageKind, StageSetup};
use crate::audio::setup::Setup;
use crate::exchange::Telemetry;
use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::print::level_histogram::LevelHistogram;

/// Samples from input to output of the path that a set-up asks for.
pub fn latency(setup: &Setup) -> usize {
    planned(setup)
        .map(|(kind, setup)| kind.latency(&setup))
        .sum()
}

/// Each stage of a set-up, and what it is built for.
fn planned(setup: &Setup) -> impl Iterator<Item = (&'static dyn StageKind, StageSetup)> {
    let Setup {
        sample_rate,
        channels,
        reach_s,
        ..
    } = *setup;
    let mut delayed_before = 0;
    stages(setup).map(move |kind| {
        let setup = StageSetup {
            sample_rate,
            channels,
            reach_s,
            delayed_before,
        };
        delayed_before += kind.latency(&setup);
        (kind, setup)
    })
}

/// The stages at work. Only `new` allocates.
pub struct Path {
    stages: Vec<Box<dyn Stage>>,
    latency: usize,
}

impl Path {
    /// Allocates every stage.
    pub fn new(setup: &Setup) -> Self {
        Self {
            stages: planned(setup)
                .map(|(kind, setup)| kind.build(&setup))
                .collect(),
            latency: latency(setup),
        }
    }

    /// Samples from input to output.
    pub fn latency(&self) -> usize {
        self.latency
    }

    /// Samples that still sound after the input has ended.
    pub fn tail(&self) -> usize {
        self.stages.iter().map(|stage| stage.tail()).sum()
    }

    /// Samples from the first input until all delay lines are full.
    pub fn fill(&self) -> usize {
        self.stages.iter().map(|stage| stage.fill()).sum()
    }

    /// Follows the parameters and the measurement, and tells what is applied.
    pub fn follow(&mut self, controls: &Controls<'_>, telemetry: &Telemetry) {
        for stage in &mut self.stages {
            stage.follow(controls);
            stage.tell(telemetry);
        }
    }

    /// Forgets the audio and starts from what was followed last, without a glide.
    pub fn reset(&mut self) {
        self.stages.iter_mut().for_each(|stage| stage.reset());
    }

    /// Works in place on channels of one length; `spot` is as long, not delayed; `transport` is the first sample's.
    pub fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32], transport: Transport) {
        for stage in &mut self.stages {
            stage.process(channels, spot, transport);
        }
    }

    /// As [`process`](Self::process) where nobody hears what comes out: lines are filled, and little else.
    pub fn pass(&mut self, channels: &mut [&mut [f32]], spot: &[f32], transport: Transport) {
        if let Some((last, before)) = self.stages.split_last_mut() {
            for stage in before {
                stage.process(channels, spot, transport);
            }
            last.pass(channels, spot, transport);
        }
    }

    /// Where the moving deck is; `None` in a mode without one.
    pub fn deck(&self) -> Option<DeckState> {
        self.stages.iter().find_map(|stage| stage.deck())
    }

    /// How loud the take comes to the tape; `None` while there is none.
    pub fn levels(&self) -> Option<&LevelHistogram> {
        self.stages.iter().find_map(|stage| stage.levels())
    }
}
