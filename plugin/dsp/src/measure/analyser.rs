//! From a stream of audio to a measurement: strokes are found, sorted into drums, and each drum fitted.

use crate::channels::{CHANNELS, Inputs};
use crate::measure::drum_sum::DrumSums;
use crate::measure::drums::choice::{Candidate, Chosen, DrumChoice, choose, spots_own};
use crate::measure::drums::hit_log::{HitLog, KeptHit};
use crate::measure::drums::kit::{Kept, Kit, KitDrum};
use crate::measure::drums::kit_sums::KitSums;
use crate::measure::drums::lags::{DrumLags, Effort, Lags};
use crate::measure::drums::naming::{Most, likeliest};
use crate::measure::drums::strays;
use crate::measure::front::finder::{Found, StrokeFinder};
use crate::measure::front::history::History;
use crate::measure::front::working_rate::WorkingRate;
use crate::measure::hit::stroke::StrokeReader;
use crate::measure::hit::window::Window;
use crate::measure::lag_curve::LagCurve;
use crate::measure::pair::curve::CurveDrawer;
use crate::measure::pair::honesty::Evidence;
use crate::measurement::{Drum, Hit, HitOutcome, MAX_DRUMS, Measurement};

/// Fixed at creation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnalyserSetup {
    /// Samples a second, 8 000 to 768 000.
    pub sample_rate: f64,
    /// What is connected.
    pub inputs: Inputs,
}

/// Full scale: three parts in ten thousand below a 16-bit converter's last step.
const FULL_SCALE: f32 = 0.999;
/// After so long without a stroke every drum is fitted with all that was heard: longer than a beat at 60 a minute.
const IDLE_S: f64 = 1.0;

/// Listens to the channels and keeps the measurement. `new` allocates; nothing else does.
pub struct Analyser {
    inputs: Inputs,
    window: Window,
    working_rate: WorkingRate,
    history: History,
    finder: StrokeFinder,
    waiting: Option<Found>,
    /// Working sample at which any channel was last at full scale.
    clipped: Option<u64>,
    heard: [Box<[f32]>; CHANNELS],
    reader: StrokeReader,
    kit: Kit,
    lags: Lags,
    curve: CurveDrawer,
    kit_sums: KitSums,
    asked: DrumChoice,
    log: HitLog,
    measurement: Measurement,
    chosen: Option<u8>,
    /// Working samples before the last reset.
    past: u64,
    /// Working samples until all drums are fitted; none when they are.
    idle: Option<u64>,
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
            clipped: None,
            heard: std::array::from_fn(|_| vec![0.0; window.heard()].into()),
            reader: StrokeReader::new(window),
            kit: Kit::new(window),
            lags: Lags::new(window, setup.inputs),
            curve: CurveDrawer::new(window),
            kit_sums: KitSums::new(window),
            asked: DrumChoice::Auto,
            log: HitLog::new(),
            measurement: Measurement::default(),
            chosen: None,
            past: 0,
            idle: None,
            window,
        }
    }

    /// Forgets the audio heard so far but keeps the hits: the transport jumped or the stream broke.
    pub fn reset(&mut self) {
        self.past += self.history.written();
        self.working_rate.reset();
        self.history.reset();
        self.finder.reset();
        self.waiting = None;
        self.clipped = None;
    }

    /// Forgets everything but the choice: a new measurement begins.
    pub fn clear(&mut self) {
        self.reset();
        self.past = 0;
        self.kit.clear();
        self.lags.clear();
        self.kit_sums.clear();
        self.log.clear();
        self.measurement = Measurement::default();
        self.chosen = None;
        self.idle = None;
    }

    /// Which drum is aligned, from now on and for what was heard.
    pub fn choose(&mut self, asked: DrumChoice) {
        if self.asked != asked {
            self.asked = asked;
            self.chosen = None;
            self.lags.ask(asked, self.window.rate);
            self.settle();
        }
    }

    /// Fits every drum with all that was heard. While audio is pushed this happens by itself, a part at a time.
    pub fn settle(&mut self) {
        self.idle = None;
        self.report(Effort::All);
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

    fn push_frame(&mut self, frame: [f32; CHANNELS]) -> bool {
        if frame.iter().any(|x| x.abs() >= FULL_SCALE) {
            self.clipped = Some(self.history.written());
        }
        let Some(frame) = self.working_rate.push(frame) else {
            return false;
        };
        self.history.write(frame);
        if let Some(found) = self.finder.push(frame) {
            self.waiting = Some(found);
        }
        let written = self.history.written();
        let after = self.window.after as u64;
        if let Some(found) = self.waiting.take_if(|found| found.at + after <= written) {
            self.judge(found);
            return true;
        }
        self.count_down()
    }

    fn count_down(&mut self) -> bool {
        match &mut self.idle {
            Some(0) => {
                self.settle();
                true
            }
            Some(left) => {
                *left -= 1;
                false
            }
            None => false,
        }
    }

    /// One stroke's window has ended: refuse it, or keep it and measure again.
    fn judge(&mut self, found: Found) {
        let from = found.at.saturating_sub(self.window.heard_before as u64);
        let kept_from = found.at.saturating_sub(self.window.kept_before as u64);
        if self.clipped.is_some_and(|at| at >= kept_from) {
            self.measurement.refused.clipped += 1;
            self.log_hit(found.at, HitOutcome::Clipped, None);
            return;
        }
        for (channel, heard) in self.heard.iter_mut().enumerate() {
            self.history.copy(channel, from, heard);
        }
        let at = self.past + found.at;
        let (reader, heard) = (&mut self.reader, &self.heard);
        let kept = self.kit.keep(|stroke| {
            stroke.at = at;
            stroke.spot_later = found.spot_later;
            reader.read(heard, stroke);
            stroke.stands_out()
        });
        let Some(kept) = kept else {
            self.measurement.refused.buried += 1;
            self.log_hit(found.at, HitOutcome::Buried, None);
            return;
        };
        let slot = match kept {
            Kept::Fresh(slot) => {
                self.lags.replaced(slot);
                slot
            }
            Kept::Repeated(slot) => slot,
        };
        let order = self.kit.stroke(slot).order;
        self.log_hit(found.at, HitOutcome::Buried, Some(KeptHit { slot, order }));
        self.idle = Some((IDLE_S * self.window.rate) as u64);
        self.report(Effort::Due);
    }

    fn log_hit(&mut self, at: u64, outcome: HitOutcome, kept: Option<KeptHit>) {
        let at_s = (self.past + at) as f64 / self.window.rate;
        self.log.push(Hit { at_s, outcome }, kept);
    }

    /// Chooses the drum, fits what is due, and writes the measurement.
    fn report(&mut self, effort: Effort) {
        let (mut drums, mut count) = self.kit.drums(self.chosen);
        let most = Most::of(drums.iter().flatten().map(|drum| &drum.features));
        let mut listed = [Candidate::nothing(); MAX_DRUMS];
        for (candidate, drum) in listed.iter_mut().zip(drums.iter().flatten()) {
            *candidate = self.candidate(drum, most);
        }
        // Strokes that are asked for by their time count, however few they are.
        if !matches!(self.asked, DrumChoice::Strokes { .. }) {
            count = strays::leave_out(&mut drums, &mut listed, count);
        }
        let chosen = choose(self.asked, self.inputs, &listed[..count]);
        self.chosen = chosen
            .and_then(|chosen| drums[chosen.place])
            .map(|drum| drum.number);
        for (place, drum) in drums.iter().flatten().enumerate() {
            let is_chosen = chosen.filter(|chosen| chosen.place == place);
            self.lags.fit(&self.kit, drum, is_chosen, effort);
        }
        self.write(&drums, &listed, count, chosen);
        if self.inputs != Inputs::MonoAndSpot {
            let measurement = &self.measurement;
            self.measurement.kit = self.kit_sums.follow(&self.kit, measurement, effort);
        }
        self.log.follow(&self.kit, &self.lags);
    }

    fn candidate(&self, drum: &KitDrum, most: Most) -> Candidate {
        let inside = |slot: &usize| self.lags.inside(self.kit.stroke(*slot).at);
        Candidate {
            features: drum.features,
            probabilities: drum.features.probabilities(most),
            inside: self.kit.slots(drum.number).filter(inside).count(),
            current: self.chosen == Some(drum.number),
        }
    }

    fn write(
        &mut self,
        drums: &[Option<KitDrum>; MAX_DRUMS],
        listed: &[Candidate; MAX_DRUMS],
        count: usize,
        chosen: Option<Chosen>,
    ) {
        let whole: f64 = drums.iter().flatten().map(|d| d.features.energy).sum();
        let measurement = &mut self.measurement;
        measurement.drums = [Drum::default(); MAX_DRUMS];
        measurement.drum_count = count as u8;
        for ((out, drum), listed) in measurement
            .drums
            .iter_mut()
            .zip(drums.iter().flatten())
            .zip(listed)
        {
            let lags = self.lags.of(drum.number).copied().unwrap_or_default();
            let DrumLags {
                gap,
                spot_to_first,
                spot_to_second,
                ..
            } = lags;
            *out = Drum {
                number: drum.number,
                kind: likeliest(&listed.probabilities),
                probabilities: listed.probabilities,
                hits: drum.hits,
                gap,
                spot_to_first,
                spot_to_second,
                share: (drum.features.energy / whole.max(1e-30)) as f32,
                signature: drum.features.signature,
            };
        }
        measurement.chosen = chosen.map(|chosen| chosen.place as u8);
        measurement.why = chosen.map(|chosen| chosen.why).unwrap_or_default();
        measurement.spots_own = spots_own(&listed[..count]).map(|own| own.place as u8);
        measurement.spot_heard = measurement
            .drums()
            .iter()
            .any(|drum| drum.spot_to_first.is_some());
        let drum = measurement.chosen().copied().unwrap_or_default();
        measurement.hits = drum.hits;
        measurement.gap = drum.gap;
        measurement.spot_to_first = drum.spot_to_first;
        measurement.spot_to_second = drum.spot_to_second;
    }

    /// Seconds of audio since it was made or cleared: the time that [`Hit::at_s`] counts in.
    pub fn heard_s(&self) -> f64 {
        (self.past + self.history.written()) as f64 / self.window.rate
    }

    /// What is known so far.
    pub fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// The last hits, oldest first, at most 64.
    pub fn hits(&self) -> &[Hit] {
        self.log.hits()
    }

    /// Audio of the chosen drum's hits, first, second and spot of each, at [`Self::rate`]. A channel that is not connected is
    /// silent.
    pub fn own_hits(&self) -> impl Iterator<Item = [&[f32]; 3]> {
        let slots = self
            .chosen
            .into_iter()
            .flat_map(|number| self.kit.slots(number));
        slots.map(|slot| std::array::from_fn(|channel| &*self.kit.stroke(slot).audio[channel]))
    }

    /// Samples of each of [`Self::own_hits`].
    pub fn hit_length(&self) -> usize {
        self.window.kept()
    }

    /// Samples a second that the analyser works at.
    pub fn rate(&self) -> f64 {
        self.window.rate
    }

    /// What is connected.
    pub fn inputs(&self) -> Inputs {
        self.inputs
    }

    /// How alike first and second (for a mono main: spot and first) are at each lag, over the chosen drum's last hits.
    /// Drawn when asked for, not with every hit.
    pub fn lag_curve(&mut self) -> LagCurve {
        let channels = match self.inputs {
            Inputs::MonoAndSpot => [CHANNELS - 1, 0],
            _ => [0, 1],
        };
        let slots = self
            .chosen
            .into_iter()
            .flat_map(|number| self.kit.slots(number));
        let strokes = slots.map(|slot| self.kit.stroke(slot));
        self.curve.draw(strokes, channels)
    }

    /// What the mono sum of each drum loses for any gap that is taken out; nothing for a mono main.
    pub fn drum_sums(&self) -> &DrumSums {
        self.kit_sums.sums()
    }

    /// What the chosen drum's spread and confidence are made of.
    pub fn evidence(&self) -> Option<Evidence> {
        self.lags.of(self.chosen?)?.evidence
    }
}
