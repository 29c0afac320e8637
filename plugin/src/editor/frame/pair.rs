//! What the two channels are like together on the hits, before and after the correction.

use super::activation::Channels;
use crate::exchange::PairSnapshot;
use plumbline_dsp::meters::mono_sum_loss::BANDS;
use plumbline_dsp::meters::pair_spectrum::{PairSpectrum, Shift};
use plumbline_dsp::plan::Plan;

/// What the two channels are like together, on the hits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairMeters {
    /// -1 to 1, 100 Hz to 5 kHz.
    pub correlation: f64,
    /// Mono-sum loss of each third octave, dB; `None` where nothing was recorded.
    pub losses_db: [Option<f64>; BANDS],
}

impl PairMeters {
    /// Of the pair with its second channel moved.
    pub fn of(spectrum: &PairSpectrum, shift: Shift) -> Self {
        Self {
            correlation: spectrum.correlation(shift),
            losses_db: spectrum.losses_db(shift),
        }
    }

    /// The third octave that loses most, and how much.
    pub fn worst(&self) -> Option<(usize, f64)> {
        let bands = self.losses_db.iter().enumerate();
        let recorded = bands.filter_map(|(band, loss)| Some((band, (*loss)?)));
        recorded.min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// Before and after the correction, where hits have been recorded since the measurement began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BeforeAfter {
    pub snapshot: PairSnapshot,
    pub before: PairMeters,
    /// With what Correct does when it is on.
    pub after: PairMeters,
}

/// What a plan does to the second of the two that are compared.
pub fn shift(channels: Channels, plan: &Plan) -> Shift {
    let later_s = match channels {
        Channels::Pair => plan.second_s - plan.first_s,
        Channels::Mono => plan.first_s,
    };
    Shift {
        later_s,
        flip: plan.flip,
    }
}
