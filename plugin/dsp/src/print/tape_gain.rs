//! The gain to tape and back, sample by sample at the working rate, moved without a step.

use super::history::FRAME;
use super::magnetisation::SATURATION;
use crate::math::ramp::toward;
use crate::units::{amplitude, decibels};

/// Speed of a change, dB a second: the whole range of the level takes the 20 ms of any other glide.
const GLIDE_DB_S: f64 = 1500.0;
/// Most samples of one phase that belong to one sample of the input.
const MOST_WORKED: usize = 8;

/// Gains of one frame.
#[derive(Clone, Debug)]
pub struct TapeGain {
    step_db: f64,
    now_db: f64,
    /// Samples of one phase at the working rate for one of the input, at least 1.
    worked: usize,
    drive: [f32; FRAME * MOST_WORKED],
    back: [f32; FRAME * MOST_WORKED],
    /// Both arrays hold the gain of `now_db` all over.
    even: bool,
    /// Gain back from tape, sample by sample of the input.
    output: [f32; FRAME],
}

impl TapeGain {
    pub fn new(sample_rate: f64, worked: usize) -> Self {
        Self {
            step_db: GLIDE_DB_S / sample_rate,
            now_db: 0.0,
            worked: worked.clamp(1, MOST_WORKED),
            drive: [0.0; FRAME * MOST_WORKED],
            back: [0.0; FRAME * MOST_WORKED],
            even: false,
            output: [1.0; FRAME],
        }
    }

    /// There at once.
    pub fn jump(&mut self, gain: f64) {
        self.now_db = decibels(gain);
        self.even = false;
    }

    /// The next `count` samples on the way to `gain`.
    pub fn advance(&mut self, gain: f64, count: usize) {
        let wanted_db = decibels(gain);
        if self.now_db == wanted_db && self.even {
            return;
        }
        self.even = self.now_db == wanted_db;
        // A gain that stands is written for the whole frame: shorter blocks after it find it there.
        let count = if self.even { FRAME } else { count };
        for n in 0..count {
            self.now_db = toward(self.now_db, wanted_db, self.step_db);
            self.fill(n);
        }
    }

    fn fill(&mut self, n: usize) {
        let gain = amplitude(self.now_db);
        self.output[n] = (1.0 / gain) as f32;
        let place = n * self.worked..(n + 1) * self.worked;
        self.drive[place.clone()].fill((gain / SATURATION) as f32);
        self.back[place].fill((3.0 * SATURATION / gain) as f32);
    }

    /// To Langevin's argument.
    pub fn drive(&self) -> &[f32] {
        &self.drive
    }

    /// From Langevin's function to the output: 1 over the gain at low level.
    pub fn back(&self) -> &[f32] {
        &self.back
    }

    /// Output of a sample of flux, sample by sample of the input.
    pub fn output(&self) -> &[f32; FRAME] {
        &self.output
    }
}
