//! A close microphone's file, delayed to its own arrival in the corrected overheads and in their polarity.

use std::path::PathBuf;

use plumbline_dsp::delay::align::{Align, AlignSetup, ChannelShift};
use plumbline_dsp::measurement::{Lag, Polarity};
use plumbline_dsp::plan::{CorrectedOverhead, MAX_DELAY_S, Match, SpotPlan, spot_plan};
use plumbline_hosting::Applied;

use super::spot_measurement::SpotMeasurement;
use crate::audio::AudioWriter;
use crate::failure::Outcome;

/// How much earlier a close microphone may have to come, seconds: the plugin's own reach.
const REACH_S: f64 = 0.030;

/// A spot's file that is written during the second pass.
pub struct SpotFile {
    /// Place among the take's spots.
    pub spot: usize,
    pub file: AudioWriter,
}

/// What was done to a spot.
#[derive(Clone, Debug, PartialEq)]
pub struct MovedSpot {
    pub path: PathBuf,
    pub plan: SpotPlan,
}

/// Where a spot goes, with the pair as it was corrected. Its own drum decides: the others are farther from it.
pub fn plan_spot(measurement: &SpotMeasurement, target: Match, applied: &Applied) -> SpotPlan {
    let own = measurement.spots_own().or(measurement.chosen());
    let aim = |lag: Lag| match target {
        Match::Body => lag.body_s,
        Match::Attack | Match::Kit => lag.attack_s,
    };
    let overhead = |lag: Option<Lag>, shift_s: f64, flip: bool| CorrectedOverhead {
        arrival_s: lag.map(|lag| aim(lag) + shift_s),
        polarity: lag.map_or(Polarity::Undecided, |lag| lag.polarity),
        flip,
    };
    let lags = own.map_or([None; 2], |drum| [drum.spot_to_first, drum.spot_to_second]);
    let first = overhead(lags[0], applied.first_s, false);
    let second = overhead(lags[1], applied.second_s, applied.flip);
    spot_plan(&[first, second], -REACH_S..=MAX_DELAY_S)
}

/// A spot on its way through its delay.
pub struct SpotDelay {
    output: SpotFile,
    plan: SpotPlan,
    align: Align,
    /// Samples of latency still to drop.
    left: usize,
}

impl SpotDelay {
    /// Of one or two channels.
    pub fn new(output: SpotFile, plan: SpotPlan, channels: usize, sample_rate: f64) -> Self {
        let setup = AlignSetup {
            sample_rate,
            channels,
            reach_s: REACH_S,
        };
        let mut align = Align::new(setup);
        let shift = ChannelShift {
            shift_samples: plan.shift_s * sample_rate,
            inverted: plan.flip,
        };
        align.set_shifts(&[shift; 2][..channels]);
        align.reset();
        Self {
            output,
            plan,
            left: align.latency(),
            align,
        }
    }

    /// Samples until the last one of the take has come out.
    pub fn latency(&self) -> usize {
        self.align.latency()
    }

    /// Delays the spot's part of a block and writes it.
    pub fn write(&mut self, spots: &[Vec<Vec<f32>>]) -> Outcome {
        let mut channels = spots[self.output.spot].clone();
        let mut slices: Vec<&mut [f32]> = channels.iter_mut().map(Vec::as_mut_slice).collect();
        self.align.process(&mut slices);
        let drop = self.left.min(channels[0].len());
        self.left -= drop;
        let kept: Vec<&[f32]> = channels.iter().map(|channel| &channel[drop..]).collect();
        self.output.file.write(&kept)
    }

    /// Completes the file.
    pub fn finish(self) -> Outcome<MovedSpot> {
        Ok(MovedSpot {
            path: self.output.file.finish()?,
            plan: self.plan,
        })
    }
}
