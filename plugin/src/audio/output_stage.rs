//! What stands between a pair and the ear: output level and monitor.

use super::gain_ramp::GainRamp;
use super::monitor::MonitorMix;
use crate::params::Monitor;

/// Level and monitor, each ramped.
#[derive(Debug)]
pub struct OutputStage {
    level: GainRamp,
    monitor: MonitorMix,
}

impl OutputStage {
    /// The pair as it is.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            level: GainRamp::new(sample_rate, 1.0),
            monitor: MonitorMix::new(sample_rate),
        }
    }

    /// Glides to an amplitude and a choice for a main bus of so many channels.
    pub fn follow(&mut self, level: f32, monitor: Monitor, channels: usize) {
        self.level.go_to(level);
        self.monitor.choose(monitor, channels);
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        self.level.jump();
        self.monitor.jump();
    }

    /// Changes nothing: the pair passes bit for bit.
    pub fn passes(&self) -> bool {
        self.level.rests_at(1.0) && self.monitor.passes_the_pair()
    }

    /// Works in place; `spot` is as long as the channels.
    pub fn process(&mut self, channels: &mut [&mut [f32]], spot: &[f32]) {
        self.level.apply(channels);
        self.monitor.process(channels, spot);
    }
}
