//! What the host runs: rate, latency, channels.

use crate::exchange::Telemetry;
use plumbline_dsp::units::MEASURED_RATES;
use std::sync::atomic::Ordering::Relaxed;

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channels {
    /// First and second, with or without a spot.
    Pair,
    /// One channel, measured against the spot.
    Mono,
}

/// What the host runs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Activation {
    /// Samples a second; `None` before the first activation.
    pub sample_rate: Option<f64>,
    /// Samples from input to output.
    pub latency: u32,
    /// Reach that is active, seconds.
    pub reach_s: f64,
    pub channels: Channels,
    /// The layout has a spot.
    pub spot: bool,
    /// Frames that came faster than they could be measured, and were left out.
    pub dropped_frames: u64,
}

impl Activation {
    /// As the audio thread told last.
    pub fn of(telemetry: &Telemetry) -> Self {
        let sample_rate = telemetry.sample_rate.load(Relaxed);
        Self {
            sample_rate: (sample_rate > 0.0).then_some(sample_rate),
            latency: telemetry.latency.load(Relaxed),
            reach_s: telemetry.reach_s.load(Relaxed),
            channels: match telemetry.channels.load(Relaxed) {
                1 => Channels::Mono,
                _ => Channels::Pair,
            },
            spot: telemetry.spot.load(Relaxed),
            dropped_frames: telemetry.dropped_frames.load(Relaxed),
        }
    }

    /// The rate is one that the core measures at, as far as it is known.
    pub fn is_measured(&self) -> bool {
        self.sample_rate
            .is_none_or(|rate| MEASURED_RATES.contains(&rate))
    }
}
