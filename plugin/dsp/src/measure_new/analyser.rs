//! From a stream of audio to a measurement: strokes are found, sorted into drums, and each drum fitted.

use super::finder::{Found, StrokeFinder};
use super::fit::{Between, Fitted, Fitter};
use super::measurement::{Hit, HitOutcome, Measurement};
use super::naming::Features;
use super::sorting::Sorting;
use super::stroke::{Stroke, StrokeReader};
use super::timing::MOST_FIT;
use super::window::{MOST_STROKES, Window};
use crate::history::{CHANNELS, History};
use crate::working_rate::WorkingRate;

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inputs {
    /// Two overheads.
    Pair,
    /// Two overheads and a spot.
    PairAndSpot,
    /// One channel and a spot.
    MonoAndSpot,
}

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
/// Full scale: three parts in ten thousand below a 16-bit converter's last step.
const FULL_SCALE: f32 = 0.999;

/// Listens to the channels and keeps the measurement. `new` allocates; nothing else does.
pub struct Analyser {
    inputs: Inputs,
    window: Window,
    working_rate: WorkingRate,
    history: History,
    finder: StrokeFinder,
    waiting: Option<Found>,
    heard: [Box<[f32]>; CHANNELS],
    reader: StrokeReader,
    strokes: Vec<Stroke>,
    orders: u64,
    sorting: Sorting,
    fitter: Fitter,
    log: Vec<Hit>,
    measurement: Measurement,
    /// Working samples before the last reset.
    past: u64,
}

impl Analyser {
    /// Allocates history, plans and scratch for the rate.
    pub fn new(setup: AnalyserSetup) -> Self {
        let working_rate = WorkingRate::new(setup.sample_rate);
        let rate = setup.sample_rate / working_rate.step() as f64;
        let window = Window::new(rate);
        Self {
            inputs: setup.inputs,
            working_rate,
            history: History::new(2 * window.heard()),
            finder: StrokeFinder::new(rate),
            waiting: None,
            heard: std::array::from_fn(|_| vec![0.0; window.heard()].into()),
            reader: StrokeReader::new(window),
            strokes: (0..window.strokes).map(|_| Stroke::new(&window)).collect(),
            orders: 0,
            sorting: Sorting::new(&window),
            fitter: Fitter::new(window),
            log: Vec::with_capacity(LOG),
            measurement: Measurement::default(),
            past: 0,
            window,
        }
    }

    /// Takes the next samples of each channel.
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

    fn push_frame(&mut self, frame: [f32; CHANNELS]) -> bool {
        let Some(frame) = self.working_rate.push(frame) else {
            return false;
        };
        self.history.write(frame);
        if let Some(found) = self.finder.push(frame) {
            self.waiting = Some(found);
        }
        let due = |found: &Found| found.at + self.window.after as u64 <= self.history.written();
        if let Some(found) = self.waiting.take_if(|found| due(found)) {
            self.keep(found);
            return true;
        }
        false
    }

    fn keep(&mut self, found: Found) {
        let from = found.at.saturating_sub(self.window.heard_before as u64);
        for (channel, heard) in self.heard.iter_mut().enumerate() {
            self.history.copy(channel, from, heard);
        }
        let _ = (FULL_SCALE, HitOutcome::Clipped);
        let slot = self.free_slot();
        let stroke = &mut self.strokes[slot];
        stroke.at = self.past + found.at;
        stroke.order = self.orders;
        self.orders += 1;
        self.reader.read(&self.heard, stroke);
        let fresh = (0..MOST_STROKES as u8)
            .find(|group| self.sorting.slots(*group).next().is_none())
            .unwrap_or(0);
        self.sorting.add(&self.strokes, slot, fresh);
    }

    fn free_slot(&mut self) -> usize {
        let free = (0..self.strokes.len()).find(|slot| self.sorting.group(*slot).is_none());
        free.unwrap_or_else(|| {
            let oldest = (0..self.strokes.len()).min_by_key(|slot| self.strokes[*slot].order);
            let slot = oldest.unwrap_or(0);
            self.sorting.remove(slot);
            slot
        })
    }

    /// For exploration: features of every group with strokes.
    pub fn describe(&self) {
        for (group, features) in self.features() {
            let first = self.sorting.slots(group).next().unwrap_or(0);
            println!(
                "  group {group:2} n {:2} first {:.2}s bands {:6.1?} spot {:6.1?} near {:.1} body {:.1}",
                features.hits,
                self.strokes[first].at as f64 / self.window.rate,
                features.bands_db,
                features.spot_db,
                features.near_db(),
                features.body_db
            );
        }
    }

    fn features(&self) -> Vec<(u8, Features)> {
        (0..MOST_STROKES as u8)
            .filter(|group| self.sorting.slots(*group).next().is_some())
            .map(|group| {
                let strokes = self.sorting.slots(group).map(|slot| &self.strokes[slot]);
                (group, Features::of(strokes))
            })
            .collect()
    }

    /// For exploration: the snare's group and fit.
    pub fn snare(&mut self) -> Option<(f64, f32, bool, usize)> {
        let features = self.features();
        let loudest = features.iter().map(|f| f.1.body_db).fold(-200.0, f64::max);
        let most = features.iter().map(|f| f.1.effective).fold(0.0, f64::max);
        let score = |f: &(u8, Features)| f.1.snare(loudest, most);
        let best = features
            .iter()
            .filter(|f| f.1.hits >= 3)
            .max_by(|a, b| score(a).total_cmp(&score(b)))?;
        let fitted = self.fit(best.0)?;
        Some((fitted.gap, fitted.lead, fitted.inverted, best.1.hits))
    }

    fn fit(&mut self, group: u8) -> Option<Fitted> {
        let mut strokes: Vec<&Stroke> = self
            .sorting
            .slots(group)
            .map(|slot| &self.strokes[slot])
            .collect();
        strokes.sort_by_key(|stroke| std::cmp::Reverse(stroke.order));
        strokes.truncate(MOST_FIT);
        let aligned = self.fitter.align(&strokes);
        let between = match self.inputs {
            Inputs::MonoAndSpot => Between { first: 2, second: 0 },
            _ => Between { first: 0, second: 1 },
        };
        self.fitter.fit(&strokes, &aligned, between)
    }

    /// What is known so far.
    pub fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// Samples a second that the analyser works at.
    pub fn rate(&self) -> f64 {
        self.window.rate
    }
}
