//! What the two channels are like together on the hits, before and after the correction.

use super::activation::Channels;
use crate::exchange::PairSnapshot;
use plumbline_dsp::meters::mono_sum_loss::BANDS;
use plumbline_dsp::meters::pair_spectrum::{PairShift, PairSpectrum, PrintShift, SpotShift};
use plumbline_dsp::plan::Plan;
use plumbline_dsp::units::amplitude;

/// What the two channels are like together, on the hits.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairMeters {
    /// -1 to 1, 100 Hz to 5 kHz.
    pub correlation: f64,
    /// Mono-sum loss of each third octave, dB; `None` where nothing was recorded.
    pub losses_db: [Option<f64>; BANDS],
}

impl PairMeters {
    /// Of the pair with its second channel moved, and the spot in it where it is in the print.
    pub fn of(spectrum: &PairSpectrum, shift: PrintShift) -> Self {
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

/// The print as recorded and as corrected: the spot is in both where it is in the print at all, at this level, dB.
pub fn prints(channels: Channels, plan: &Plan, spot_db: Option<f64>) -> [PrintShift; 2] {
    let spot = |later_s: f64, flip: bool| {
        spot_db.map(|level_db| SpotShift {
            later_s,
            flip,
            gain: amplitude(level_db),
        })
    };
    let before = PrintShift {
        pair: PairShift::default(),
        spot: spot(0.0, false),
    };
    let after = PrintShift {
        pair: shift(channels, plan),
        spot: spot(plan.spot.shift_s - plan.first_s, plan.spot.flip),
    };
    [before, after]
}

/// What a plan does to the second of the two that are compared.
pub fn shift(channels: Channels, plan: &Plan) -> PairShift {
    let later_s = match channels {
        Channels::Pair => plan.second_s - plan.first_s,
        Channels::Mono => plan.first_s,
    };
    PairShift {
        later_s,
        flip: plan.flip,
    }
}
