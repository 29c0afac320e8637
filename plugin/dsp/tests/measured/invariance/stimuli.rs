//! A few grooves whose answer is easy.

use plumbline_dsp::measurement::Polarity;

use crate::real_grooves::{GrooveSettings, Pair, Style, strokes};
use crate::simulated_kit::{Cymbals, Heard, Microphones, SimulatedKit};
use crate::take::Take;

pub struct Stimulus {
    pub name: &'static str,
    pub take: Take,
}

/// Two real grooves (where there are recordings) and a simulated one with hats 10 dB under the snare's attack.
pub fn stimuli() -> Vec<Stimulus> {
    let real = |name, style, pair| {
        let settings = GrooveSettings {
            style,
            pair,
            seed: 1_201,
            ..GrooveSettings::default()
        };
        let take = strokes()?.groove(&settings);
        Some(Stimulus { name, take })
    };
    let simulated = Heard::new(SimulatedKit {
        room: 1_201,
        bars: 8,
        cymbals: Cymbals::Hats,
        polarity: Polarity::Same,
        microphones: Microphones::Unequal,
    });
    let simulated = Stimulus {
        name: "simulated hats",
        take: simulated.mixed(-10.0),
    };
    let near = real("near plain", Style::Plain, Pair::Near);
    let far = real("far hats", Style::Hats, Pair::Far);
    near.into_iter().chain(far).chain([simulated]).collect()
}

impl Take {
    /// Every channel changed alike.
    pub fn each(mut self, change: impl Fn(&[f32]) -> Vec<f32>) -> Self {
        for channel in [
            &mut self.first,
            &mut self.second,
            &mut self.kick,
            &mut self.snare,
        ] {
            *channel = change(channel);
        }
        self
    }
}
