//! What every stage of the audio path does.

use crate::exchange::Telemetry;
use crate::params::PlumblineParams;
use plumbline_dsp::decks::preview::DeckState;
use plumbline_dsp::decks::song_position::Transport;
use plumbline_dsp::measurement::Measurement;
use plumbline_dsp::print::level_histogram::LevelHistogram;

/// What a stage is built for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StageSetup {
    /// Samples a second.
    pub sample_rate: f64,
    /// Main channels, 1 or 2.
    pub channels: usize,
    /// Seconds.
    pub reach_s: f64,
    /// Samples by which the stages before it have delayed the audio.
    pub delayed_before: usize,
}

/// A kind of stage: its latency can be asked for before one is built.
pub trait StageKind {
    /// Samples from its input to its output.
    fn latency(&self, setup: &StageSetup) -> usize;

    /// Allocates a stage.
    fn build(&self, setup: &StageSetup) -> Box<dyn Stage>;
}

/// What a stage follows.
#[derive(Clone, Copy)]
pub struct Controls<'a> {
    pub params: &'a PlumblineParams,
    pub measurement: &'a Measurement,
    /// Another number, another measurement.
    pub report_number: u32,
    /// Of the next sample.
    pub transport: Transport,
}

/// One stage at work. Nothing here allocates, locks, waits or fails.
pub trait Stage: Send {
    /// Samples that still sound after its input has ended, its latency included.
    fn tail(&self) -> usize;

    /// Samples from its first input until its delay lines are full.
    fn fill(&self) -> usize;

    /// Follows the parameters and the measurement: at the start of each block, and on each boundary within it.
    fn follow(&mut self, controls: &Controls<'_>);

    /// Forgets the audio and starts from what it has followed last, without a glide.
    fn reset(&mut self);

    /// Works in place on channels of one length; `spot` is as long, and comes as the host gave it, not delayed;
    /// `transport` is the first sample's.
    fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32], transport: Transport);

    /// As [`process`](Self::process) where nobody hears what comes out: the channels need not be written.
    fn pass(&mut self, channels: &mut [&mut [f32]], spot: &[f32], transport: Transport) {
        self.process(channels, spot, transport);
    }

    /// Tells what it applies.
    fn tell(&self, _telemetry: &Telemetry) {}

    /// Where the moving deck is, if this stage has one.
    fn deck(&self) -> Option<DeckState> {
        None
    }

    /// How loud the take comes to the tape, if this stage has one.
    fn levels(&self) -> Option<&LevelHistogram> {
        None
    }
}
