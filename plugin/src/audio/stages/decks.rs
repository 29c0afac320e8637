//! The two decks: a fixed and a moving reader of what the stages before them give out.

use super::stage::{Controls, Stage, StageKind, StageSetup};
use plumbline_dsp::decks::mix::MixSettings;
use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::settings::CourseSettings;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::decks::{Sweep, SweepSetup, latency};

/// The decks, to be built.
pub struct Kind;

impl StageKind for Kind {
    fn latency(&self, setup: &StageSetup) -> usize {
        latency(setup.sample_rate)
    }

    fn build(&self, setup: &StageSetup) -> Box<dyn Stage> {
        let decks = Sweep::new(SweepSetup {
            sample_rate: setup.sample_rate,
            channels: setup.channels,
            delayed_before: setup.delayed_before,
        });
        Box::new(DeckStage {
            decks,
            course: CourseSettings::default(),
            mix: MixSettings::default(),
        })
    }
}

struct DeckStage {
    decks: Sweep,
    course: CourseSettings,
    mix: MixSettings,
}

impl Stage for DeckStage {
    fn tail(&self) -> usize {
        self.decks.tail()
    }

    fn fill(&self) -> usize {
        self.decks.latency()
    }

    fn follow(&mut self, controls: &Controls<'_>) {
        let params = &controls.params.sweep;
        self.course = params.course(controls.transport);
        self.mix = params.mix(controls.transport);
    }

    fn reset(&mut self) {
        self.decks.reset();
    }

    fn process(&mut self, channels: &mut [&mut [f32]], _spot: &[f32], transport: Transport) {
        self.decks
            .process(channels, &self.course, &self.mix, transport);
    }

    fn pass(&mut self, channels: &mut [&mut [f32]], _spot: &[f32], transport: Transport) {
        self.decks
            .pass(channels, &self.course, &self.mix, transport);
    }

    fn deck(&self) -> Option<DeckState> {
        Some(self.decks.deck_state())
    }
}
