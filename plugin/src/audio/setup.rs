//! What an activation fixes.

use crate::params::{Mode, PlumblineParams};

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
    /// The tape stage stands in the path.
    pub print: bool,
    pub render: Render,
}

/// How the host renders.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Render {
    /// While somebody listens.
    Realtime,
    /// A bounce: the analysis runs inline, and what is for the ear only is left out.
    Offline,
}

impl Setup {
    /// The same with what the parameters ask for now.
    pub fn asked(self, params: &PlumblineParams) -> Self {
        Self {
            mode: params.mode.value(),
            reach_s: params.reach_s(),
            print: params.print.on.value(),
            ..self
        }
    }
}
