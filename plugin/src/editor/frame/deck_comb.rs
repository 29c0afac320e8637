//! The comb of both decks' sum: level at each frequency and the notches worth a name.

use super::decks::Decks;
use plumbline_dsp::meters::comb::{Comb, Copied};
use std::ops::Range;

/// The audible range, Hz.
pub const AUDIBLE_HZ: Range<f64> = 20.0..20_000.0;
/// Notches shallower than this are not named, dB.
const NAMED_DB: f64 = -3.0;
/// Most notches that are looked at for a name.
const NAMED: u32 = 6;
/// Offsets closer than this to the null point are at it: the first notch lies above 100 kHz.
const AT_NULL_S: f64 = 5e-6;

/// One channel's comb.
#[derive(Clone, Copy, Debug)]
pub struct DeckComb {
    pub comb: Comb,
    /// Amplitude of the louder deck.
    louder: f64,
}

impl DeckComb {
    /// Amplitude at a frequency.
    pub fn magnitude(&self, hz: f64) -> f64 {
        self.louder * self.comb.magnitude(hz)
    }

    /// Level at a frequency, dB.
    pub fn db(&self, hz: f64) -> f64 {
        20.0 * self.magnitude(hz).max(1e-9).log10()
    }

    /// The first audible notches, Hz; none where nothing that is worth a name is taken out.
    pub fn notches(&self) -> impl Iterator<Item = f64> + use<> {
        let comb = self.comb;
        let named = comb.notch_db() < NAMED_DB && comb.delay_s.abs() > AT_NULL_S;
        let all = (0..NAMED).map(move |index| comb.notch_hz(index));
        all.filter(move |hz| named && AUDIBLE_HZ.contains(hz))
    }
}

impl Decks {
    /// The comb of one channel whose decks are this far apart.
    pub fn comb(&self, delay_s: f64) -> DeckComb {
        let moving = match self.mix.engage {
            true => self.mix.blend.clamp(0.0, 1.0) * self.preview().depth(),
            false => 0.0,
        };
        let fixed = 1.0 - moving;
        let (louder, softer) = (fixed.max(moving), fixed.min(moving));
        let copied = match self.mix.flip {
            true => Copied::Inverted,
            false => Copied::Upright,
        };
        let comb = Comb {
            delay_s,
            level: softer / louder,
            copied,
        };
        DeckComb { comb, louder }
    }

    /// The first notch of the first channel, Hz.
    pub fn first_notch_hz(&self) -> Option<f64> {
        self.comb(self.deck_state().offset_s).notches().next()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use plumbline_dsp::decks::mix::MixSettings;

    #[test]
    fn the_comb_is_what_the_decks_add_up_to() {
        // The sum of both decks as the audio has it: fixed + share (side moving - fixed).
        let added = |mix: &MixSettings, hz: f64, delay_s: f64| {
            let turn = std::f64::consts::TAU * hz * delay_s;
            let side = if mix.flip { -1.0 } else { 1.0 };
            let share = if mix.engage { mix.blend } else { 0.0 };
            let (re, im) = (
                1.0 - share + share * side * turn.cos(),
                share * side * turn.sin(),
            );
            re.hypot(im)
        };
        for blend in [0.0, 0.2, 0.5, 0.8, 1.0] {
            for flip in [false, true] {
                for engage in [false, true] {
                    let mix = MixSettings {
                        engage,
                        blend,
                        flip,
                        ..MixSettings::default()
                    };
                    let decks = Decks {
                        mix,
                        ..Decks::default()
                    };
                    for hz in [40.0, 333.0, 1000.0, 9876.0] {
                        let got = decks.comb(0.00066).magnitude(hz);
                        let want = added(&mix, hz, 0.00066);
                        assert!((got - want).abs() < 1e-9, "{mix:?} {hz}: {got} {want}");
                    }
                }
            }
        }
    }
}
