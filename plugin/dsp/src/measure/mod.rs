//! From a stream of audio to a measurement: hits are found, refused or sorted by drum, and their arrivals timed.
//!
//! Promises: no allocation after `new`; the same audio gives the same measurement however it is cut into blocks. Called by
//! the shell's analysis thread and by the tools. Calls `math` and `channels`; never `decks`. Inside, each folder sees those
//! before it alone: `front`, `hit`, `pair`, `drums`.

mod drums;
mod front;
mod hit;
pub mod lag_curve;
pub mod pair;

use crate::channels::{CHANNELS, Inputs, SPOT};
use crate::measure::drums::Roster;
use crate::measure::front::events::HitFinder;
use crate::measure::front::history::History;
use crate::measure::front::working_rate::WorkingRate;
use crate::measure::hit::window::{Geometry, NEAR_S};
use crate::measure::lag_curve::LagCurve;
use crate::measurement::{Hit, HitOutcome, Measurement};

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnalyserSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// What is connected.
    pub inputs: Inputs,
}

/// Hits kept for the log.
const LOG: usize = 64;
/// Hits that may wait for the end of their window: at most one in 40 ms begins.
const WAITING: usize = 4;
/// Full scale: three parts in ten thousand below a 16-bit converter's last step.
const FULL_SCALE: f32 = 0.999;
/// The spot's 1 ms around a hit over the 20 ms before: below 20 dB the first front cannot be told from what went before.
const OVER_NOISE: f64 = 5.0;

/// Listens to the channels and keeps the measurement. `new` allocates; nothing else does.
#[derive(Debug)]
pub struct Analyser {
    inputs: Inputs,
    rate: f64,
    geometry: Geometry,
    working_rate: WorkingRate,
    history: History,
    finder: HitFinder,
    waiting: Vec<u64>,
    last_start: Option<u64>,
    /// Working sample at which each channel was last at full scale.
    full_scale: [Option<u64>; CHANNELS],
    segments: [Box<[f32]>; CHANNELS],
    roster: Roster,
    log: Vec<Hit>,
    /// The take that each logged hit was kept as, by its order.
    log_orders: Vec<Option<u64>>,
    measurement: Measurement,
}

impl Analyser {
    /// Allocates history, plans and scratch for the rate.
    pub fn new(setup: AnalyserSetup) -> Self {
        let working_rate = WorkingRate::new(setup.sample_rate);
        let rate = setup.sample_rate / working_rate.step() as f64;
        let geometry = Geometry::new(rate, setup.inputs);
        let segment = geometry.before + geometry.after;
        let mut finder = HitFinder::new(rate);
        finder.reset();
        Self {
            inputs: setup.inputs,
            rate,
            working_rate,
            history: History::new(segment + 64),
            finder,
            waiting: Vec::with_capacity(WAITING),
            last_start: None,
            full_scale: [None; CHANNELS],
            segments: std::array::from_fn(|_| vec![0.0; segment].into()),
            roster: Roster::new(rate, setup.inputs, geometry),
            log: Vec::with_capacity(LOG),
            log_orders: Vec::with_capacity(LOG),
            measurement: Measurement::default(),
            geometry,
        }
    }

    /// Forgets the audio heard so far but keeps the hits: the transport jumped or the stream broke.
    pub fn reset(&mut self) {
        self.working_rate.reset();
        self.history.reset();
        self.finder.reset();
        self.waiting.clear();
        self.last_start = None;
        self.full_scale = [None; CHANNELS];
    }

    /// Forgets everything: a new measurement begins.
    pub fn clear(&mut self) {
        self.reset();
        self.roster.clear();
        self.log.clear();
        self.log_orders.clear();
        self.measurement = Measurement::default();
    }

    /// Takes the next samples of each channel, all of one length (any, also 0). For a mono main `second` is
    /// empty; without a spot `spot` is empty. Never allocates; returns true when the measurement changed.
    pub fn push(&mut self, first: &[f32], second: &[f32], spot: &[f32]) -> bool {
        let mut changed = false;
        let sample = |channel: &[f32], n: usize| {
            channel
                .get(n)
                .copied()
                .filter(|x| x.is_finite())
                .unwrap_or(0.0)
        };
        for n in 0..first.len().max(spot.len()) {
            let frame = [sample(first, n), sample(second, n), sample(spot, n)];
            changed |= self.push_frame(frame);
        }
        changed
    }

    /// What is known so far.
    pub fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// The last hits, oldest first, at most 64.
    pub fn hits(&self) -> &[Hit] {
        &self.log
    }

    /// How alike first and second (for a mono main: spot and first) are at each lag, over the hits counted.
    /// Drawn when asked for, not with every hit.
    pub fn lag_curve(&self) -> LagCurve {
        self.roster.lag_curve()
    }

    /// Audio of the hits that the measurement is made of, first, second and spot of each, at [`Self::rate`]. A channel
    /// that is not connected is silent.
    pub fn own_hits(&self) -> impl Iterator<Item = [&[f32]; 3]> {
        let own = self.roster.own();
        own.map(|take| std::array::from_fn(|channel| &*take.audio[channel]))
    }

    /// Samples of each of [`Self::own_hits`].
    pub fn hit_length(&self) -> usize {
        self.geometry.kept_before + self.geometry.after
    }

    /// Samples a second that the analyser works at.
    pub fn rate(&self) -> f64 {
        self.rate
    }

    fn push_frame(&mut self, frame: [f32; CHANNELS]) -> bool {
        for (at, sample) in self.full_scale.iter_mut().zip(frame) {
            if sample.abs() >= FULL_SCALE {
                *at = Some(self.history.written());
            }
        }
        let Some(frame) = self.working_rate.push(frame) else {
            return false;
        };
        self.history.write(frame);
        let heard = match self.inputs {
            Inputs::Pair => frame[0] + frame[1],
            _ => frame[SPOT],
        };
        if let Some(start) = self.finder.push(f64::from(heard))
            && self.waiting.len() < WAITING
        {
            self.waiting.push(start);
        }
        let due = |start: &u64| start + self.geometry.after as u64 <= self.history.written();
        if self.waiting.first().is_some_and(due) {
            let start = self.waiting.remove(0);
            self.judge(start);
            return true;
        }
        false
    }

    /// One hit's window has ended: refuse it, or keep it and measure again.
    fn judge(&mut self, start: u64) {
        let crowded = self
            .last_start
            .is_some_and(|last| start - last < self.geometry.crowded);
        let next = self
            .waiting
            .first()
            .is_some_and(|next| next - start < self.geometry.crowded / 2);
        self.last_start = Some(start);
        let from = start.saturating_sub(self.geometry.before as u64);
        let outcome = if self
            .full_scale
            .iter()
            .flatten()
            .any(|at| *at >= start.saturating_sub(self.geometry.kept_before as u64))
        {
            Err(HitOutcome::Clipped)
        } else if crowded || next {
            Err(HitOutcome::Crowded)
        } else {
            self.listen(from, start).ok_or(HitOutcome::Buried)
        };
        match outcome {
            Ok(order) => self.log_hit(start, HitOutcome::Buried, Some(order)),
            Err(refused) => {
                let counts = &mut self.measurement.refused;
                match refused {
                    HitOutcome::Clipped => counts.clipped += 1,
                    HitOutcome::Crowded => counts.crowded += 1,
                    _ => counts.buried += 1,
                }
                self.log_hit(start, refused, None);
            }
        }
        if outcome.is_ok() {
            self.roster.report(&mut self.measurement);
            self.relog();
        }
    }

    fn log_hit(&mut self, start: u64, outcome: HitOutcome, order: Option<u64>) {
        if self.log.len() == LOG {
            self.log.remove(0);
            self.log_orders.remove(0);
        }
        let at_s = start as f64 / self.rate;
        self.log.push(Hit { at_s, outcome });
        self.log_orders.push(order);
    }

    /// Picks the fronts of one hit and keeps it; `None` when it is buried.
    fn listen(&mut self, from: u64, start: u64) -> Option<u64> {
        for (channel, segment) in self.segments.iter_mut().enumerate() {
            self.history.copy(channel, from, segment);
        }
        let noise_heard = (start - from) as usize == self.geometry.before;
        if !noise_heard || !self.stands_out() {
            return None;
        }
        let skipped = self.geometry.before - self.geometry.kept_before;
        let segments = &self.segments;
        self.roster
            .add(std::array::from_fn(|channel| &segments[channel][skipped..]))
    }

    /// Is the hit 20 dB over what was heard before it?
    fn stands_out(&self) -> bool {
        let g = &self.geometry;
        let level = |audio: &[f32]| {
            audio.iter().map(|x| f64::from(*x).powi(2)).sum::<f64>() / audio.len().max(1) as f64
        };
        let near = (NEAR_S * self.rate) as usize;
        let heard = |from: usize, to: usize| match self.inputs {
            Inputs::Pair => level(&self.segments[0][from..to]) + level(&self.segments[1][from..to]),
            _ => level(&self.segments[SPOT][from..to]),
        };
        heard(g.before, g.before + 6 * near) > OVER_NOISE * OVER_NOISE * heard(0, g.before - near)
    }

    /// Sorting may have changed a hit's voice: write the log anew from what is kept.
    fn relog(&mut self) {
        let main = self.roster.main();
        for (hit, order) in self.log.iter_mut().zip(&self.log_orders) {
            let Some(take) = order.and_then(|order| self.roster.take(order)) else {
                continue;
            };
            let seconds = |lag: Option<f64>| lag.map_or(0.0, |lag| lag / self.rate);
            hit.outcome = HitOutcome::Counted {
                voice: take.voice,
                gap_s: seconds(take.lag(main.from, main.to)),
                spot_to_first_s: seconds(take.lag(SPOT, 0)),
            };
        }
    }
}
