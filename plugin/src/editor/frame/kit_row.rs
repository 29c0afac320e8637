//! One drum of the kit map: its gap, what the correction makes of it, and what its mono sum loses.

use super::pair::shift;
use super::{Channels, Frame};
use plumbline_dsp::measurement::{Drum, Lag, Polarity};

/// What the mono sum of a drum loses, dB.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SumLoss {
    pub before_db: f64,
    pub after_db: f64,
}

/// One drum.
#[derive(Clone, Debug, PartialEq)]
pub struct KitRow {
    pub number: u8,
    pub name: String,
    pub hits: u32,
    /// `None` where no fronts were found.
    pub lag: Option<Lag>,
    /// What is left of the gap after the correction, seconds.
    pub left_s: Option<f64>,
    /// `None` where the sum was not heard, or the gap is beyond what was kept of it.
    pub loss: Option<SumLoss>,
    /// It is the drum that is aligned.
    pub is_chosen: bool,
}

impl Frame {
    /// The kit map: the drum that is aligned first.
    pub fn kit_rows(&self) -> Vec<KitRow> {
        self.rows().map(|drum| self.kit_row(drum)).collect()
    }

    fn kit_row(&self, drum: &Drum) -> KitRow {
        let lag = self.lag_of(drum);
        let moved = shift(self.activation.channels, &self.plan);
        let chosen = self.measurement().chosen().map(|chosen| chosen.number);
        KitRow {
            number: drum.number,
            name: self.drum_name(drum),
            hits: drum.hits,
            lag,
            left_s: lag.map(|lag| lag.attack_s + moved.later_s),
            loss: self.sum_loss(drum),
            is_chosen: chosen == Some(drum.number),
        }
    }

    fn sum_loss(&self, drum: &Drum) -> Option<SumLoss> {
        if self.activation.channels == Channels::Mono {
            return None;
        }
        let drums = self.measurement().drums();
        let place = drums.iter().position(|other| other.number == drum.number)?;
        let sum = self.report.sums.get(place)?.as_ref()?;
        let moved = shift(self.activation.channels, &self.plan);
        let second = match moved.flip {
            true => Polarity::Inverted,
            false => Polarity::Same,
        };
        Some(SumLoss {
            before_db: sum.loss_db(0.0, Polarity::Same)?,
            after_db: sum.loss_db(-moved.later_s, second)?,
        })
    }
}
