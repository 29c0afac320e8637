//! The lags of every drum, fitted anew when enough of its strokes are new.

use crate::channels::CHANNELS;
use crate::channels::Inputs;
use crate::measure::drums::choice::{Chosen, DrumChoice};
use crate::measure::drums::kit::{Kit, KitDrum, Slots};
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::{MOST_STROKES, Window};
use crate::measure::pair::body_lag::{BodyLag, Fullest};
use crate::measure::pair::fit::{AfterSpot, Depth, Fitted, Fitter};
use crate::measure::pair::honesty::{Evidence, Honest, honest_front, polarity_odds};
use crate::measure::pair::stacks::{Aligned, Between};
use crate::measure::pair::timing::MOST_FIT;
use crate::measurement::{Lag, MAX_DRUMS, Polarity};

/// The chosen drum is fitted again when one over this of its strokes is new: no new stroke moves a fit by more than one over
/// their number ...
const NEW: u32 = 4;
/// ... and a drum that is not chosen, or has more strokes than one fit takes, when one over this is; one that is both when all are.
const NEW_OF_MANY: u32 = 2;
/// A polarity is told when it is so probable.
const TOLD: f64 = 0.97;
/// The spot's channel.
const SPOT: usize = CHANNELS - 1;
/// The overheads.
const PAIR: Between = Between {
    first: 0,
    second: 1,
};
/// A drum that was not chosen is measured for what it is: its margin does not count.
const SURE: f64 = 3.0;
/// Nothing below -100 dBFS is a signal, power.
const SILENCE: f64 = 1e-10;

/// How much is fitted anew.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Effort {
    /// Drums with enough new strokes.
    Due,
    /// All drums with any.
    All,
}

/// What is known of one drum.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct DrumLags {
    number: u8,
    /// Strokes that the fit was made of.
    fitted: Slots,
    pub gap: Option<Lag>,
    pub spot_to_first: Option<Lag>,
    pub spot_to_second: Option<Lag>,
    pub evidence: Option<Evidence>,
}

/// Fits of all drums.
pub(crate) struct Lags {
    window: Window,
    inputs: Inputs,
    fitter: Fitter,
    body: BodyLag,
    known: [Option<DrumLags>; MAX_DRUMS],
    /// Of the stroke in each slot alone, seconds: second minus first where its front is clear.
    hit_gaps: [Option<f64>; MOST_STROKES],
    /// Working samples of the strokes asked for alone.
    asked: Option<(u64, u64)>,
}

impl Lags {
    pub(crate) fn new(window: Window, inputs: Inputs) -> Self {
        Self {
            inputs,
            fitter: Fitter::new(window),
            body: BodyLag::new(&window),
            known: [None; MAX_DRUMS],
            hit_gaps: [None; MOST_STROKES],
            asked: None,
            window,
        }
    }

    pub(crate) fn clear(&mut self) {
        self.known = [None; MAX_DRUMS];
        self.hit_gaps = [None; MOST_STROKES];
    }

    pub(crate) fn ask(&mut self, asked: DrumChoice, rate: f64) {
        let before = self.asked;
        self.asked = match asked {
            DrumChoice::Strokes { from_s, to_s } => Some((
                (from_s * rate).max(0.0) as u64,
                (to_s * rate).max(0.0) as u64,
            )),
            _ => None,
        };
        if before != self.asked {
            self.known = [None; MAX_DRUMS];
        }
    }

    /// Is a stroke among those asked for?
    pub(crate) fn inside(&self, at: u64) -> bool {
        self.asked.is_none_or(|(from, to)| (from..to).contains(&at))
    }

    /// Another stroke lies in this slot now.
    pub(crate) fn replaced(&mut self, slot: usize) {
        self.hit_gaps[slot] = None;
        for known in self.known.iter_mut().flatten() {
            known.fitted &= !(1 << slot);
        }
    }

    /// Second minus first of the stroke in a slot alone, seconds; `None` where it is covered or not fitted yet.
    pub(crate) fn hit_gap_s(&self, slot: usize) -> Option<f64> {
        self.hit_gaps[slot]
    }

    pub(crate) fn of(&self, number: u8) -> Option<&DrumLags> {
        self.known
            .iter()
            .flatten()
            .find(|known| known.number == number)
    }

    /// Fits a drum if it is due.
    pub(crate) fn fit(
        &mut self,
        kit: &Kit,
        drum: &KitDrum,
        chosen: Option<Chosen>,
        effort: Effort,
    ) {
        let fitted = self.of(drum.number).map_or(0, |known| known.fitted);
        let changed = (drum.slots ^ fitted).count_ones();
        let strokes = drum.slots.count_ones();
        let part = match (chosen.is_some(), strokes as usize >= MOST_FIT) {
            (true, false) => NEW,
            (true, true) | (false, false) => NEW_OF_MANY,
            (false, true) => 1,
        };
        let due = match effort {
            Effort::All => changed > 0,
            Effort::Due => changed > 0 && changed >= strokes / part,
        };
        if due {
            let lags = self.measure(kit, drum, chosen);
            self.store(kit, lags);
        }
    }

    /// Stores in the drum's own place, or in one whose drum is gone.
    fn store(&mut self, kit: &Kit, lags: DrumLags) {
        let own = |known: &Option<DrumLags>| known.is_some_and(|known| known.number == lags.number);
        let gone = |known: &Option<DrumLags>| {
            known.is_none_or(|known| kit.slots(known.number).next().is_none())
        };
        let place = self.known.iter().position(own);
        let place = place.or_else(|| self.known.iter().position(gone));
        let fewest = |n: &usize| self.known[*n].map_or(0, |known| known.fitted.count_ones());
        let place = place.unwrap_or_else(|| (0..MAX_DRUMS).min_by_key(fewest).unwrap_or(0));
        self.known[place] = Some(lags);
    }

    fn measure(&mut self, kit: &Kit, drum: &KitDrum, chosen: Option<Chosen>) -> DrumLags {
        let mut lags = DrumLags {
            number: drum.number,
            fitted: drum.slots,
            ..DrumLags::default()
        };
        let mut slots = [0; MOST_FIT];
        let count = self.newest(kit, drum, &mut slots);
        if count == 0 {
            return lags;
        }
        let mut strokes = [kit.stroke(slots[0]); MOST_FIT];
        for (stroke, slot) in strokes.iter_mut().zip(slots) {
            *stroke = kit.stroke(slot);
        }
        let strokes = &strokes[..count];
        let depth = if chosen.is_some() {
            Depth::Whole
        } else {
            Depth::Quick
        };
        let aligned = self.fitter.align(strokes, depth);
        let margin = chosen.map_or(SURE, |chosen| chosen.margin);
        let fitted = self.pair(strokes, &aligned, depth);
        for (slot, lag) in slots[..count]
            .iter()
            .zip(fitted.map_or([None; MOST_FIT], |f| f.close.strokes.each))
        {
            self.hit_gaps[*slot] = lag.map(|lag| lag / self.window.rate);
        }
        if let Some(fitted) = &fitted {
            let body = self.body(strokes, &aligned, fitted);
            let evidence = Evidence {
                margin,
                body: f64::from(body[0].alike - body[1].alike),
                ..Evidence::of(fitted, count, self.window.rate)
            };
            lags.gap = Some(self.lag(fitted, body, &evidence.honest()));
            lags.evidence = Some(evidence);
        }
        let spot = strokes
            .iter()
            .any(|stroke| stroke.energy[SPOT].body > SILENCE);
        if self.inputs != Inputs::Pair && spot {
            self.add_spot(strokes, &aligned, fitted.as_ref(), &mut lags);
        }
        lags
    }

    fn pair(&mut self, strokes: &[&Stroke], aligned: &Aligned, depth: Depth) -> Option<Fitted> {
        if self.inputs == Inputs::MonoAndSpot {
            return None;
        }
        self.fitter.fit(strokes, aligned, PAIR, depth)
    }

    /// The spot's own front against the overheads'.
    fn add_spot(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        fitted: Option<&Fitted>,
        lags: &mut DrumLags,
    ) {
        if fitted.is_none() && self.inputs != Inputs::MonoAndSpot {
            return;
        }
        let near = fitted.map(|fitted| fitted.middle - 0.5 * fitted.gap);
        let Some(first) = self.fitter.after_spot(strokes, aligned, 0, near) else {
            return;
        };
        lags.spot_to_first = Some(self.spot_lag(strokes, aligned, 0, first));
        // Through the pair's own gap: the three lags then agree to the last digit.
        lags.spot_to_second = fitted.map(|fitted| {
            let second = AfterSpot {
                lag: first.lag + fitted.gap,
                ..first
            };
            self.spot_lag(strokes, aligned, 1, second)
        });
    }

    fn spot_lag(
        &mut self,
        strokes: &[&Stroke],
        aligned: &Aligned,
        channel: usize,
        after: AfterSpot,
    ) -> Lag {
        let rate = self.window.rate;
        let timing = &aligned.timings[0];
        let channels = [SPOT, channel];
        let [upright, turned] = self
            .body
            .find(strokes, timing, channels, after.lag, &self.window);
        let inverted = turned.alike > upright.alike;
        let odds = polarity_odds(f64::from((upright.alike - turned.alike).abs()));
        let fullest = if inverted { turned } else { upright };
        let honest = honest_front(after.height, strokes.len());
        Lag {
            attack_s: after.lag / rate,
            body_s: fullest.lag / rate,
            spread_s: honest.0,
            polarity: polarity(inverted, odds),
            polarity_odds: odds,
            confidence: honest.1,
        }
    }

    /// The newest strokes of a drum that were asked for, up to as many as one fit takes.
    fn newest(&self, kit: &Kit, drum: &KitDrum, slots: &mut [usize; MOST_FIT]) -> usize {
        let mut count = 0;
        let mut before = u64::MAX;
        while count < MOST_FIT {
            let older = kit.slots(drum.number).filter(|slot| {
                kit.stroke(*slot).order < before && self.inside(kit.stroke(*slot).at)
            });
            let Some(slot) = older.max_by_key(|slot| kit.stroke(*slot).order) else {
                break;
            };
            before = kit.stroke(slot).order;
            slots[count] = slot;
            count += 1;
        }
        count
    }

    /// The fullest lags of the overheads: in the fit's polarity, and in the other.
    fn body(&mut self, strokes: &[&Stroke], aligned: &Aligned, fitted: &Fitted) -> [Fullest; 2] {
        let timing = &aligned.timings[0];
        let channels = PAIR.channels();
        let window = &self.window;
        let [upright, turned] = self
            .body
            .find(strokes, timing, channels, fitted.gap, window);
        if fitted.inverted {
            [turned, upright]
        } else {
            [upright, turned]
        }
    }

    fn lag(&self, fitted: &Fitted, body: [Fullest; 2], honest: &Honest) -> Lag {
        let rate = self.window.rate;
        let polarity = polarity(fitted.inverted, honest.polarity_odds);
        // Where the fronts do not tell, the body does: it is what the sum is made of.
        let other = polarity == Polarity::Undecided && body[1].alike > body[0].alike;
        Lag {
            attack_s: fitted.gap / rate,
            body_s: body[usize::from(other)].lag / rate,
            spread_s: honest.spread_s,
            polarity,
            polarity_odds: honest.polarity_odds,
            confidence: honest.confidence,
        }
    }
}

fn polarity(inverted: bool, odds: f64) -> Polarity {
    match (inverted, odds >= TOLD) {
        (_, false) => Polarity::Undecided,
        (false, true) => Polarity::Same,
        (true, true) => Polarity::Inverted,
    }
}
