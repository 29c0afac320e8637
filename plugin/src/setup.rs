//! What an activation fixes, and the latency that follows from it.

use crate::params::Mode;
use plumbline_dsp::align::AlignSetup;

/// How far the moving deck may lead, in seconds: the fixed deck waits that long.
const LEAD_S: f64 = 0.012;

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
        self.align().latency() + self.lead()
    }

    /// Of the align section.
    pub fn align(&self) -> AlignSetup {
        AlignSetup {
            sample_rate: self.sample_rate,
            channels: self.channels,
            reach_s: self.reach_s,
        }
    }

    /// Samples that the mode adds to the alignment.
    pub fn lead(&self) -> usize {
        match self.mode {
            Mode::Align => 0,
            Mode::Sweep => (LEAD_S * self.sample_rate).ceil() as usize,
        }
    }
}
