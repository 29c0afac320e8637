//! Two channels, each delayed by any fraction of a sample: a glide of 20 ms between corrections, no clicks.

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AlignSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// One or two.
    pub channels: usize,
    /// How much earlier a channel may be pulled, seconds; part of the latency.
    pub reach_s: f64,
}

/// One channel's place.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Place {
    /// Shift against the recording, in samples, positive later, from minus the reach up.
    pub shift_samples: f64,
    /// Turned over.
    pub inverted: bool,
}

/// The align section of one instance: one delay line and one fixed reader a channel.
#[derive(Debug)]
pub struct Align {
    latency: usize,
}

impl Align {
    /// Allocates the lines.
    pub fn new(_setup: AlignSetup) -> Self {
        Self { latency: 0 }
    }

    /// Samples from input to output when nothing is shifted: kernel + reach, whole samples.
    pub fn latency(&self) -> usize {
        self.latency
    }

    /// Silences the lines and jumps to the last places asked for, without a glide.
    pub fn reset(&mut self) {}

    /// Where each channel should be from now on; glides there in 20 ms.
    pub fn set_places(&mut self, _places: &[Place]) {}

    /// Works in place on `channels[c][..]`, all of one length. Non-finite samples are read as silence.
    pub fn process(&mut self, _channels: &mut [&mut [f32]]) {}
}
