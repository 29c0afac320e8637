//! Draws the editor's picture of the hits on the analysis thread, while somebody looks.

use crate::telemetry::{Onlooker, Picture, SlotWriter};
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::Analyser;
use plumbline_dsp::meters::pair_spectrum::PairSpectrumMeter;
use std::sync::Arc;

/// Louder than this a channel is heard: the level under which a meter shows nothing (-60 dB full scale, common
/// practice, no source).
const AUDIBLE: f32 = 0.001;
/// Seconds that a channel may be silent before it counts as not connected: longer than the rests of most grooves.
const PATIENCE_S: f64 = 2.0;

/// The way to the editor.
pub struct Easel {
    pictures: SlotWriter<Picture>,
    onlooker: Arc<dyn Onlooker>,
    /// Made when first needed; for one analyser's rate and length.
    meter: Option<PairSpectrumMeter>,
    ears: Ears,
    /// Of the measurement that is drawn.
    epoch: u32,
    /// There is something to draw.
    news: bool,
    /// Somebody looked the last time.
    seen: bool,
}

/// Which channels have been heard lately.
#[derive(Default)]
struct Ears {
    /// Seconds since each was audible.
    silent_s: [Option<f64>; 3],
}

impl Easel {
    /// Where pictures go, and who looks.
    pub fn new(pictures: SlotWriter<Picture>, onlooker: Arc<dyn Onlooker>) -> Self {
        Self {
            pictures,
            onlooker,
            meter: None,
            ears: Ears::default(),
            epoch: 0,
            news: true,
            seen: false,
        }
    }

    /// Another analyser: what was planned for the last one does not fit.
    pub fn renew(&mut self) {
        self.meter = None;
        self.news = true;
    }

    /// A measurement begins, ends or has changed.
    pub fn news(&mut self, epoch: Option<u32>) {
        self.epoch = epoch.unwrap_or(self.epoch);
        self.news = true;
    }

    /// Hears which channels there are. Never allocates.
    pub fn hear(&mut self, channels: [&[f32]; 3], sample_rate: f64) {
        self.news |= self.ears.hear(channels, sample_rate);
    }

    /// Draws when there is something new and somebody looks. On the plugin's own thread only: it may allocate.
    pub fn draw(&mut self, analyser: Option<(Inputs, &Analyser)>) {
        let looks = self.onlooker.looks();
        let wanted = looks && (self.news || !self.seen);
        self.seen = looks;
        if !wanted {
            return;
        }
        self.news = false;
        let picture = match analyser {
            Some((inputs, analyser)) => self.picture(inputs, analyser),
            None => Picture::default(),
        };
        self.pictures.write(picture);
        self.onlooker.wake();
    }

    fn picture(&mut self, inputs: Inputs, analyser: &Analyser) -> Picture {
        let pairs = analyser
            .own_hits()
            .map(|[first, second, spot]| match inputs {
                Inputs::MonoAndSpot => (spot, first),
                Inputs::Pair | Inputs::PairAndSpot => (first, second),
            });
        let meter = self
            .meter
            .get_or_insert_with(|| PairSpectrumMeter::new(analyser.rate(), analyser.hit_length()));
        Picture {
            epoch: self.epoch,
            heard: self.ears.heard(),
            curve: analyser.lag_curve(),
            spectrum: meter.measure(pairs),
        }
    }
}

impl Ears {
    /// True when a channel has come or gone.
    fn hear(&mut self, channels: [&[f32]; 3], sample_rate: f64) -> bool {
        let before = self.heard();
        for (silent_s, channel) in self.silent_s.iter_mut().zip(channels) {
            let audible = channel.iter().any(|sample| sample.abs() > AUDIBLE);
            let length_s = channel.len() as f64 / sample_rate;
            *silent_s = match *silent_s {
                _ if audible => Some(0.0),
                Some(before) if before + length_s < PATIENCE_S => Some(before + length_s),
                _ => None,
            };
        }
        self.heard() != before
    }

    fn heard(&self) -> [bool; 3] {
        self.silent_s.map(|silent_s| silent_s.is_some())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_channel_goes_after_two_silent_seconds_and_comes_back_at_once() {
        let (loud, quiet) = ([0.5; 480], [0.0; 480]);
        let mut ears = Ears::default();
        assert!(ears.hear([&loud, &loud, &quiet], 48_000.0));
        assert_eq!(ears.heard(), [true, true, false]);
        let changes = (0..220).filter(|_| ears.hear([&loud, &quiet, &quiet], 48_000.0));
        assert_eq!(changes.count(), 1);
        assert_eq!(ears.heard(), [true, false, false]);
        assert!(ears.hear([&loud, &quiet, &loud], 48_000.0));
        assert_eq!(ears.heard(), [true, false, true]);
    }
}
