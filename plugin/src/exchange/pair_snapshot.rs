//! What the editor draws of the hits: lag curve, spectrum of the pair, and which channels are audible.

use plumbline_dsp::measure::lag_curve::LagCurve;
use plumbline_dsp::meters::pair_spectrum::PairSpectrum;

/// A copy of the analysis' state for the editor.
///
/// Writer: the analysis thread, while a window is open. Reader: the editor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairSnapshot {
    /// Of the measurement that it belongs to, as in `Report`.
    pub epoch: u32,
    /// First, second and spot: audible within the last two seconds.
    pub audible: [bool; 3],
    pub lag_curve: LagCurve,
    /// Of first and second; of a mono main: of spot and channel.
    pub spectrum: PairSpectrum,
}

impl Default for PairSnapshot {
    fn default() -> Self {
        Self {
            epoch: 0,
            audible: [false; 3],
            lag_curve: LagCurve::EMPTY,
            spectrum: PairSpectrum::EMPTY,
        }
    }
}
