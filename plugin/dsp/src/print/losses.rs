//! What is lost between the magnetised coating and the playback head's voltage, in closed form over the wavelength.

use std::f64::consts::{PI, TAU};

/// A head's gap acts longer than it is: Eargle's 1.11; the first null is seen at 1.12 gap lengths (Mallinson).
const EFFECTIVE_GAP: f64 = 1.11;

/// Lengths of a tape and its heads, micrometres. A length of 0 loses nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Losses {
    /// δ, the magnetised depth of the coating.
    pub coating_um: f64,
    /// d, between the tape and the playback head.
    pub spacing_um: f64,
    /// g, the playback head's gap as built.
    pub gap_um: f64,
    /// Depth at which the recording seems to lie because the bias, set past the peak of sensitivity, erases short
    /// wavelengths again as they leave the recording gap.
    pub erasure_um: f64,
}

impl Losses {
    /// No loss at all.
    pub const NONE: Self = Self {
        coating_um: 0.0,
        spacing_um: 0.0,
        gap_um: 0.0,
        erasure_um: 0.0,
    };

    /// A mastering tape on a good head. Coating and spacing from the ranges of published tapes and heads (10 to 17.5
    /// and 0.3 to 1 µm), the gap the narrower of the usual two (3 and 6.35 µm). The bias is set 3 dB over the peak at
    /// 10 kHz and 38.1 cm/s (Handbook for Sound Engineers, tape data): 3 dB at a wavelength of 38.1 µm are 2.1 µm if
    /// the loss goes with the wavelength as spacing does, which is an assumption.
    pub const MASTERING: Self = Self {
        coating_um: 15.0,
        spacing_um: 0.5,
        gap_um: 3.0,
        erasure_um: 2.1,
    };

    /// Part of the flux that is left of a wave of `wavelength_um`.
    pub fn amplitude(&self, wavelength_um: f64) -> f64 {
        self.thickness(wavelength_um)
            * spacing(self.spacing_um, wavelength_um)
            * self.gap(wavelength_um)
            * spacing(self.erasure_um, wavelength_um)
    }

    /// (1 - e^(-2πδ/λ)) / (2πδ/λ), Wallace 1951.
    fn thickness(&self, wavelength_um: f64) -> f64 {
        let depth = TAU * self.coating_um / wavelength_um;
        match depth > 1e-9 {
            true => -f64::exp_m1(-depth) / depth,
            false => 1.0,
        }
    }

    /// |sin (πg/λ)| / (πg/λ) with the effective gap.
    fn gap(&self, wavelength_um: f64) -> f64 {
        let turns = PI * self.gap_um * EFFECTIVE_GAP / wavelength_um;
        match turns > 1e-9 {
            true => (turns.sin() / turns).abs(),
            false => 1.0,
        }
    }
}

/// e^(-2πd/λ), Wallace 1951: 54.58 dB for each wavelength of distance.
fn spacing(distance_um: f64, wavelength_um: f64) -> f64 {
    (-TAU * distance_um / wavelength_um).exp()
}
