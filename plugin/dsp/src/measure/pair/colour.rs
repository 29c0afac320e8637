//! The ways a stroke is filtered before its front is looked for.

use crate::measure::hit::filters::{BandPass, Edges, pre_emphasis};
use crate::measure::pair::whitening::Whitener;

/// Everything between the drum's body and the top of hearing: what the whitener is made from and applied to.
pub(crate) const WIDE_HZ: Edges = Edges {
    low_hz: 150.0,
    high_hz: 14_000.0,
};
/// Lifts the attack over the body: 0.9 is flat from 700 Hz on at 48 kHz.
const PRE_EMPHASIS: f32 = 0.9;

/// A causal filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Colour {
    /// A band as recorded.
    Band(Edges),
    /// A band with its top lifted.
    Lifted(Edges),
    /// The wide band, whitened.
    White(Whitener),
}

impl Colour {
    /// Filters samples in place.
    pub(crate) fn apply(&self, rate: f64, samples: &mut [f32]) {
        match self {
            Self::Band(edges) => BandPass::new(*edges, rate).run(samples),
            Self::Lifted(edges) => {
                BandPass::new(*edges, rate).run(samples);
                pre_emphasis(PRE_EMPHASIS, samples);
            }
            Self::White(whitener) => {
                BandPass::new(WIDE_HZ, rate).run(samples);
                whitener.run(samples);
            }
        }
    }
}
