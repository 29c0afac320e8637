//! The mono sum of every drum and of the whole kit, worked out again when an eighth of a drum's strokes is new.

use crate::measure::drum_sum::DrumSums;
use crate::measure::drums::kit::Kit;
use crate::measure::drums::lags::Effort;
use crate::measure::hit::window::Window;
use crate::measure::pair::mono_sum::{MeanStroke, MonoSum};
use crate::measurement::{Drum, KitAim, KitMatch, MAX_DRUMS, Measurement};

/// The compromise is looked for at every eighth of a sample.
const STEPS: i32 = 8;
/// A drum is heard anew when so many hits have come: this part of the strokes that are kept of it.
const GROWTH: usize = 8;
/// Between two whole samples a sum of up to 6 kHz rises by no more than this at 44.1 kHz.
const NEARLY: f64 = 0.9;
/// Weight of the drum that is aligned, in mean strokes; every other drum has one.
const CHOSEN_WEIGHT: f32 = 2.0;

/// One drum as it was last heard.
#[derive(Debug)]
struct Row {
    /// [`Drum::number`] and hits; `None` before the first.
    heard: Option<(u8, u32)>,
    mean: MeanStroke,
}

/// Mean strokes of the kit. `new` allocates.
#[derive(Debug)]
pub(crate) struct KitSums {
    mono_sum: MonoSum,
    rows: [Row; MAX_DRUMS],
    whole: MeanStroke,
    sums: DrumSums,
}

impl KitSums {
    pub(crate) fn new(window: Window) -> Self {
        let row = |_| Row {
            heard: None,
            mean: MeanStroke::new(&window),
        };
        Self {
            mono_sum: MonoSum::new(window),
            rows: std::array::from_fn(row),
            whole: MeanStroke::new(&window),
            sums: [None; MAX_DRUMS],
        }
    }

    pub(crate) fn clear(&mut self) {
        self.rows.iter_mut().for_each(|row| row.heard = None);
        self.sums = [None; MAX_DRUMS];
    }

    /// One for each of the measurement's drums.
    pub(crate) fn sums(&self) -> &DrumSums {
        &self.sums
    }

    /// Hears what is due, and says where the whole kit loses least.
    pub(crate) fn follow(
        &mut self,
        kit: &Kit,
        measurement: &Measurement,
        effort: Effort,
    ) -> Option<KitMatch> {
        self.sums = [None; MAX_DRUMS];
        self.whole.clear();
        let chosen = measurement.chosen()?.number;
        for (place, drum) in measurement.drums().iter().enumerate() {
            self.sort(place, drum.number);
            self.hear(kit, place, drum, effort);
            let weight = if drum.number == chosen {
                CHOSEN_WEIGHT
            } else {
                1.0
            };
            self.whole.add(&self.rows[place].mean, weight);
            self.sums[place] = self.rows[place].mean.drum_sum();
        }
        (self.whole.coherent_energy() > 0.0).then(|| self.best())
    }

    /// Brings a drum's row to its place.
    fn sort(&mut self, place: usize, number: u8) {
        let of = |row: &Row| row.heard.is_some_and(|(heard, _)| heard == number);
        if let Some(row) = self.rows[place..].iter().position(of) {
            self.rows.swap(place, place + row);
        }
    }

    fn hear(&mut self, kit: &Kit, place: usize, drum: &Drum, effort: Effort) {
        let row = &mut self.rows[place];
        // Those that are kept: of a long take, fewer than the drum's hits.
        let strokes = kit.slots(drum.number).map(|slot| kit.stroke(slot));
        let due = match row.heard {
            Some((number, hits)) => {
                let grown = drum.hits.abs_diff(hits) as usize;
                let kept = strokes.clone().count().min(hits as usize);
                number != drum.number
                    || grown > 0 && (effort == Effort::All || GROWTH * grown >= kept)
            }
            None => true,
        };
        if due {
            self.mono_sum.measure(strokes, &mut row.mean);
            row.heard = Some((drum.number, drum.hits));
        }
    }

    fn best(&self) -> KitMatch {
        let loss_db = |energy: f64| {
            let part = energy / self.whole.coherent_energy();
            10.0 * part.max(1e-12).log10()
        };
        KitMatch {
            upright: self.fullest(1.0, loss_db),
            turned: self.fullest(-1.0, loss_db),
            recorded_db: loss_db(self.whole.sum_energy(0.0, 1.0)),
        }
    }

    /// `sign` is that of the second channel. Between whole samples it is looked for only where a neighbour is nearly the
    /// fullest.
    fn fullest(&self, sign: f64, loss_db: impl Fn(f64) -> f64) -> KitAim {
        let last = self.whole.reach() as i32 * STEPS;
        let lag_s = |step: i32| f64::from(step) / f64::from(STEPS) / self.whole.rate();
        let energy = |step: i32| self.whole.sum_energy(lag_s(step), sign);
        let whole_steps = (-last..=last).step_by(STEPS as usize);
        let fullest_whole = whole_steps.clone().map(energy).fold(0.0, f64::max);
        let mut best = (-1.0, 0);
        for whole in whole_steps {
            if energy(whole) < NEARLY * fullest_whole {
                continue;
            }
            for step in (whole - STEPS).max(-last)..=(whole + STEPS).min(last) {
                let here = energy(step);
                if here > best.0 {
                    best = (here, step);
                }
            }
        }
        KitAim {
            gap_s: lag_s(best.1),
            loss_db: loss_db(best.0),
        }
    }
}
