//! Silent channels are refused: an export went wrong.

use crate::audio::{TakeBlock, TakeFiles};
use crate::failure::{Outcome, refuse};

/// Below this peak a channel is silent: -100 dB of full scale.
const SILENT: f32 = 1e-5;
/// Highest sample of each channel.
#[derive(Default)]
pub struct Peaks {
    pair: [f32; 2],
    spots: Vec<f32>,
}

impl Peaks {
    /// Takes the next block.
    pub fn push(&mut self, block: &TakeBlock) {
        self.spots.resize(block.spots.len(), 0.0);
        self.pair
            .iter_mut()
            .zip(&block.pair)
            .for_each(|(peak, channel)| *peak = peak.max(highest(channel)));
        for (peak, channels) in self.spots.iter_mut().zip(&block.spots) {
            *peak = channels
                .iter()
                .fold(*peak, |peak, channel| peak.max(highest(channel)));
        }
    }

    /// Refuses a take with a silent channel.
    pub fn check(&self, files: &TakeFiles) -> Outcome {
        for (peak, name) in self.pair.iter().zip(["first", "second"]) {
            if *peak < SILENT {
                return refuse(format!(
                    "the {name} overhead is silent: nothing can be measured; check the export"
                ));
            }
        }
        match self
            .spots
            .iter()
            .zip(&files.spots)
            .find(|(peak, _)| **peak < SILENT)
        {
            Some((_, path)) => refuse(format!(
                "the spot {} is silent: check the export, or leave it out",
                path.display()
            )),
            None => Ok(()),
        }
    }
}

fn highest(samples: &[f32]) -> f32 {
    samples
        .iter()
        .fold(0.0, |peak, sample| peak.max(sample.abs()))
}
