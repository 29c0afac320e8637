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
    /// Filters `N` signals side by side, in place.
    pub(crate) fn apply<const N: usize>(&self, rate: f64, samples: &mut [[f32; N]]) {
        let band = |edges: &Edges| BandPass::new(*edges, rate);
        match self {
            Self::Band(edges) => band(edges).run_abreast(samples),
            Self::Lifted(edges) => {
                band(edges).run_abreast(samples);
                pre_emphasis(PRE_EMPHASIS, samples);
            }
            Self::White(whitener) => {
                band(&WIDE_HZ).run_abreast(samples);
                whitener.run(samples);
            }
        }
    }
}
