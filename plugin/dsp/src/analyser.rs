//! From a stream of audio to a measurement: hits are found, refused or sorted by drum, and their arrivals timed.

use crate::measurement::{Hit, Measurement};

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inputs {
    /// Two overheads, no spot: hits are found in their sum.
    Pair,
    /// Two overheads and a spot.
    PairAndSpot,
    /// One channel and a spot.
    MonoAndSpot,
}

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnalyserSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// What is connected.
    pub inputs: Inputs,
}

/// Listens to the channels and keeps the measurement. `new` allocates; nothing else does.
#[derive(Debug)]
pub struct Analyser {
    measurement: Measurement,
}

impl Analyser {
    /// Allocates history, plans and scratch for the rate.
    pub fn new(_setup: AnalyserSetup) -> Self {
        Self {
            measurement: Measurement::default(),
        }
    }

    /// Forgets the audio heard so far but keeps the hits: the transport jumped or the stream broke.
    pub fn reset(&mut self) {}

    /// Forgets everything: a new measurement begins.
    pub fn clear(&mut self) {
        self.measurement = Measurement::default();
    }

    /// Takes the next samples of each channel, all of one length (any, also 0). For a mono main `second` is
    /// empty; without a spot `spot` is empty. Never allocates; returns true when the measurement changed.
    pub fn push(&mut self, _first: &[f32], _second: &[f32], _spot: &[f32]) -> bool {
        false
    }

    /// What is known so far.
    pub fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// The last hits, oldest first, at most 64.
    pub fn hits(&self) -> &[Hit] {
        &[]
    }
}
