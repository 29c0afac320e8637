//! The output level: decibels in, a ramp of gains over the audio.

use super::gain_ramp::GainRamp;
use plumbline_dsp::units::amplitude;

/// A level that glides when it is set.
#[derive(Debug)]
pub struct OutputLevel {
    /// The last one followed, dB; its gain is worked out once.
    level_db: f32,
    ramp: GainRamp,
}

impl OutputLevel {
    /// Starts at unity.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            level_db: 0.0,
            ramp: GainRamp::new(sample_rate, 1.0),
        }
    }

    /// Glides to a level.
    pub fn follow(&mut self, level_db: f32) {
        if self.level_db != level_db {
            self.level_db = level_db;
            self.ramp.go_to(amplitude(level_db.into()) as f32);
        }
    }

    /// Arrives at once.
    pub fn jump(&mut self) {
        self.ramp.jump();
    }

    /// Scales in place. Unity passes bit for bit.
    pub fn apply(&mut self, channels: &mut [&mut [f32]]) {
        self.ramp.apply(channels);
    }
}
