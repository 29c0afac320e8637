//! What an activation fixes, and the latency that follows from it.

use crate::params::Mode;
use plumbline_dsp::decks::{SweepSetup, latency};
use plumbline_dsp::delay::align::AlignSetup;

/// What an activation fixes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setup {
    /// Samples a second.
    pub sample_rate: f64,
    /// Main channels, 1 or 2.
    pub channels: usize,
    pub mode: Mode,
    /// Seconds.
    pub reach_s: f64,
    /// An offline render: what is for the ear only is left out.
    pub offline: bool,
}

impl Setup {
    /// Samples from input to output.
    pub fn latency(&self) -> usize {
        let decks = self.sweep().map_or(0, |decks| latency(decks.sample_rate));
        self.align().latency() + decks
    }

    /// Of the align section.
    pub fn align(&self) -> AlignSetup {
        AlignSetup {
            sample_rate: self.sample_rate,
            channels: self.channels,
            reach_s: self.reach_s,
        }
    }

    /// Of the decks behind it, in the mode that has them.
    pub fn sweep(&self) -> Option<SweepSetup> {
        let setup = SweepSetup {
            sample_rate: self.sample_rate,
            channels: self.channels,
            delayed_before: self.align().latency(),
        };
        (self.mode == Mode::Sweep).then_some(setup)
    }
}
