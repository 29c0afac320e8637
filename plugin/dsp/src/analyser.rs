//! From a stream of audio to a measurement: hits are found, refused or sorted by drum, and their arrivals timed.

use crate::arrivals::{ArrivalPicker, PICKS, Search};
use crate::history::{CHANNELS, History};
use crate::hits::HitFinder;
use crate::lag_curve::LagCurve;
use crate::measurement::{
    Hit, HitOutcome, Lag, MAX_VOICES, Measurement, Polarity, Voice, VoiceName,
};
use crate::overlay::{Looks, Overlay, Pattern, steps};
use crate::sound::Listener;
use crate::take::Take;
use crate::voices::{self, Known, Sorting};
use crate::wavefronts::{Fit, MAX_TAKES, Pair, SPOT, Wavefronts};
use crate::working_rate::WorkingRate;

/// What is connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Inputs {
    /// Two overheads, no spot: hits are found in their sum.
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
/// Hits that may wait for the end of their window: at most one in 40 ms begins.
const WAITING: usize = 4;
/// Heard before a hit: the noise it stands in.
const BEFORE_S: f64 = 0.026;
/// A front may come this long before its hit in the spot, when a host delays the spot by mistake ...
const EARLY_S: f64 = 0.006;
/// ... and this long after: 30 ms is 10 m of air.
const LATE_S: f64 = 0.030;
/// In the spot itself, and in a pair whose own sum found the hit, the front is where the hit was found, give or take.
const NEAR_S: f64 = 0.003;
/// Heard after a hit: the window. Latest front and 20 ms of its body, or 40 ms of body after one within 10 ms.
const AFTER_S: f64 = 0.050;
/// Kept before the hit.
const KEPT_BEFORE_S: f64 = 0.012;
/// The front is picked from half a millisecond before where the voice's hits agree that it lies ...
const LOOK_BEFORE_S: f64 = 0.0005;
/// ... against what was heard in the 2.5 ms before that, hats included ...
const NOISE_S: f64 = 0.0025;
/// ... and against the highest of the 10 ms after, which is the drum itself.
const LOOK_AFTER_S: f64 = 0.010;
/// A first sign that comes later than the rise of a soft front has been covered by another sound.
const LOOK_LATEST_S: f64 = 0.000_85;
/// Looks at one front: the first around where the other hits' lie, the last around itself.
const LOOKS: usize = 4;
/// A place is looked at again when it has moved by more than half the time looked before.
const MOVED_S: f64 = 0.000_25;
/// Hits nearer than this to the one before ...
const CROWDED_BEFORE_S: f64 = 0.060;
/// Full scale: three parts in ten thousand below a 16-bit converter's last step.
const FULL_SCALE: f32 = 0.999;
/// The spot's 1 ms around a hit over the 20 ms before: below 20 dB the first front cannot be told from what went before.
const OVER_NOISE: f64 = 5.0;

/// Lengths in samples of the working rate.
#[derive(Clone, Copy, Debug)]
struct Geometry {
    before: usize,
    after: usize,
    kept_before: usize,
    crowded: u64,
    looks: Looks,
}

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
    overlay: Overlay,
    picker: ArrivalPicker,
    listener: Listener,
    wavefronts: Wavefronts,
    segments: [Box<[f32]>; CHANNELS],
    spare: Vec<Take>,
    takes: Vec<Take>,
    orders: u64,
    log: Vec<Hit>,
    /// The take that each logged hit was kept as, by its order.
    log_orders: Vec<Option<u64>>,
    known: [Known; MAX_VOICES],
    /// Signature of each voice as it was last measured.
    measured: [u64; MAX_VOICES],
    measurement: Measurement,
    curve: LagCurve,
}

impl Analyser {
    /// Allocates history, plans and scratch for the rate.
    pub fn new(setup: AnalyserSetup) -> Self {
        let working_rate = WorkingRate::new(setup.sample_rate);
        let rate = setup.sample_rate / working_rate.step() as f64;
        let geometry = Geometry::new(rate, setup.inputs);
        let segment = geometry.before + geometry.after;
        let kept = geometry.kept_before + geometry.after;
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
            overlay: Overlay::new(rate, geometry.kept_before + geometry.after),
            picker: ArrivalPicker::new(rate, geometry.kept_before + geometry.after),
            listener: Listener::new(rate),
            wavefronts: Wavefronts::new(rate),
            segments: std::array::from_fn(|_| vec![0.0; segment].into()),
            spare: (0..MAX_TAKES)
                .map(|_| Take::new(kept, steps(rate, kept)))
                .collect(),
            takes: Vec::with_capacity(MAX_TAKES),
            orders: 0,
            log: Vec::with_capacity(LOG),
            log_orders: Vec::with_capacity(LOG),
            known: Default::default(),
            measured: [0; MAX_VOICES],
            measurement: Measurement::default(),
            curve: LagCurve::EMPTY,
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
        self.spare.append(&mut self.takes);
        self.orders = 0;
        self.log.clear();
        self.log_orders.clear();
        self.known = Default::default();
        self.measured = [0; MAX_VOICES];
        self.measurement = Measurement::default();
        self.curve = LagCurve::EMPTY;
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
    pub fn lag_curve(&self) -> &LagCurve {
        &self.curve
    }

    /// Audio of the hits that the measurement is made of, first, second and spot of each, at [`Self::rate`]. A channel
    /// that is not connected is silent.
    pub fn own_hits(&self) -> impl Iterator<Item = [&[f32]; 3]> {
        let own = self.takes.iter().filter(|take| take.voice == 0);
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
            self.measure();
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
        self.keep(start)
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

    fn keep(&mut self, start: u64) -> Option<u64> {
        let mut take = self.spare.pop().unwrap_or_else(|| self.forget());
        let skipped = self.geometry.before - self.geometry.kept_before;
        let needed = match self.inputs {
            Inputs::Pair => [true, true, false],
            Inputs::PairAndSpot => [true, true, true],
            Inputs::MonoAndSpot => [true, false, true],
        };
        for (channel, needed) in needed.into_iter().enumerate() {
            take.audio[channel].copy_from_slice(&self.segments[channel][skipped..]);
            self.overlay
                .level(&take.audio[channel], &mut take.levels[channel]);
            take.looked_at[channel] = None;
            take.picks[channel] = [None; PICKS];
            let look = self.geometry.looks[channel];
            if needed && !self.overlay.has_front(&take.levels[channel], look) {
                self.spare.push(take);
                return None;
            }
        }
        self.orders += 1;
        take.order = self.orders;
        take.at_s = start as f64 / self.rate;
        let from = self.geometry.kept_before - self.geometry.kept_before / 12;
        let sounds: [_; CHANNELS] =
            std::array::from_fn(|channel| self.listener.hear(&take.audio[channel], from));
        let reference = self.reference();
        take.brightness_db = sounds[reference].brightness_db();
        take.depth_db = sounds[reference].depth_db();
        take.loudness = sounds[reference].high;
        // Over all that is kept, so that it hardly matters when the spot came.
        let energy = |channel: usize| {
            let audio = take.audio[channel].iter();
            audio.map(|x| f64::from(*x).powi(2)).sum::<f64>() + f64::MIN_POSITIVE
        };
        take.closeness_db = if self.inputs == Inputs::Pair {
            0.0
        } else {
            10.0 * (energy(SPOT) / (energy(0) + energy(1))).log10()
        };
        self.takes.push(take);
        Some(self.orders)
    }

    /// The channel whose fronts the others are set against.
    fn reference(&self) -> usize {
        if self.inputs == Inputs::Pair { 0 } else { SPOT }
    }

    /// Picks every take's fronts where its voice's hits agree that they lie.
    fn pick(&mut self, patterns: &[Pattern]) {
        let samples = |seconds: f64| seconds * self.rate;
        for take in &mut self.takes {
            let pattern = &patterns[usize::from(take.voice)];
            for (channel, front) in pattern.iter().enumerate() {
                let place = front.map(|front| front + take.shift);
                let moved = match (place, take.looked_at[channel]) {
                    (Some(place), Some(before)) => (place - before).abs() > samples(MOVED_S),
                    (place, before) => place.is_some() || before.is_some(),
                };
                if !moved {
                    continue;
                }
                take.looked_at[channel] = place;
                take.picks[channel] = [None; PICKS];
                // Again around what was found until it stays, so that only the channel's own audio matters.
                let mut around = place.map(f64::round);
                for _ in 0..LOOKS {
                    let Some(place) = around else {
                        break;
                    };
                    let audio = &take.audio[channel];
                    take.picks[channel] = self
                        .picker
                        .pick(audio, search(place, self.rate, audio.len()));
                    let found = take.front(channel).map(f64::round);
                    if std::mem::replace(&mut around, found) == found {
                        break;
                    }
                }
            }
        }
    }

    /// Room for a new hit: the oldest of the drum with the most goes, so that a busy hat cannot push out the snare.
    fn forget(&mut self) -> Take {
        let hits = |voice: u8| self.takes.iter().filter(|take| take.voice == voice).count();
        let busiest = (0..MAX_VOICES as u8)
            .max_by_key(|voice| hits(*voice))
            .unwrap_or(0);
        let oldest = self
            .takes
            .iter()
            .position(|take| take.voice == busiest)
            .unwrap_or(0);
        self.takes.remove(oldest)
    }

    fn measure(&mut self) {
        let mut patterns = [[None; CHANNELS]; MAX_VOICES];
        let reference = self.reference();
        let by = Sorting {
            overlay: &mut self.overlay,
            looks: &self.geometry.looks,
            reference,
            known: &mut self.known,
        };
        let count = voices::sort(&mut self.takes, by, &mut patterns);
        self.pick(&patterns);
        self.measurement.voice_count = count as u8;
        for voice in (0..count as u8).rev() {
            let signature = voices::signature(&self.takes, voice);
            let measured = &mut self.measured[usize::from(voice)];
            if std::mem::replace(measured, signature) == signature {
                continue;
            }
            let fit = self.wavefronts.fit(&self.takes, voice, self.main());
            self.measurement.voices[usize::from(voice)] = self.voice(voice, fit);
            if voice == 0 {
                self.measure_own(fit);
            }
        }
        self.relog();
    }

    /// The pair that is drawn and whose gap the voices tell.
    fn main(&self) -> Pair {
        match self.inputs {
            Inputs::MonoAndSpot => Pair { from: SPOT, to: 0 },
            _ => Pair { from: 0, to: 1 },
        }
    }

    /// All lags of the spot's own voice; `main` is the main pair's fit.
    fn measure_own(&mut self, main: Option<Fit>) {
        self.measurement.hits = self.measurement.voices[0].hits;
        let lag = self.lag(self.main(), main);
        self.draw(main);
        match self.inputs {
            Inputs::MonoAndSpot => self.measurement.spot_to_first = lag,
            Inputs::Pair => self.measurement.gap = lag,
            Inputs::PairAndSpot => {
                self.measurement.gap = lag;
                self.measurement.spot_to_first = self.lag_after_spot(0);
                self.measurement.spot_to_second = self.lag_after_spot(1);
            }
        }
    }

    fn lag_after_spot(&mut self, to: usize) -> Option<Lag> {
        let pair = Pair { from: SPOT, to };
        let fit = self.wavefronts.fit(&self.takes, 0, pair);
        self.lag(pair, fit)
    }

    fn lag(&mut self, pair: Pair, fit: Option<Fit>) -> Option<Lag> {
        let fit = fit?;
        let body = self.wavefronts.fullest(&self.takes, 0, pair, &fit);
        Some(to_lag(fit, body, self.measurement.hits, self.rate))
    }

    fn voice(&self, voice: u8, fit: Option<Fit>) -> Voice {
        let members = || self.takes.iter().filter(|take| take.voice == voice);
        let hits = members().count();
        let brightness = members().map(|take| take.brightness_db).sum::<f64>() / hits.max(1) as f64;
        Voice {
            name: name(voice, brightness),
            hits: hits as u32,
            gap_s: fit.map_or(0.0, |fit| fit.attack / self.rate),
            spread_s: fit.map_or(0.0, |fit| fit.spread / self.rate),
        }
    }

    fn draw(&mut self, fit: Option<Fit>) {
        let Some(fit) = fit else {
            return;
        };
        for point in 0..crate::lag_curve::POINTS {
            let lag = LagCurve::lag_s(point) * self.rate - fit.attack;
            self.curve.fronts[point] = self.wavefronts.front_correlation(lag) as f32;
            self.curve.body[point] = self.wavefronts.body_correlation(lag) as f32;
        }
    }

    /// Sorting may have changed a hit's voice: write the log anew from what is kept.
    fn relog(&mut self) {
        let main = if self.inputs == Inputs::MonoAndSpot {
            (SPOT, 0)
        } else {
            (0, 1)
        };
        for (hit, order) in self.log.iter_mut().zip(&self.log_orders) {
            let kept = order.and_then(|order| self.takes.iter().find(|take| take.order == order));
            let Some(take) = kept else {
                continue;
            };
            let seconds = |lag: Option<f64>| lag.map_or(0.0, |lag| lag / self.rate);
            hit.outcome = HitOutcome::Counted {
                voice: take.voice,
                gap_s: seconds(take.lag(main.0, main.1)),
                spot_to_first_s: seconds(take.lag(SPOT, 0)),
            };
        }
    }
}

impl Geometry {
    fn new(rate: f64, inputs: Inputs) -> Self {
        let samples = |seconds: f64| (seconds * rate).round() as usize;
        let before = samples(BEFORE_S);
        let kept = samples(KEPT_BEFORE_S);
        let search = |early: f64, late: f64| [kept - samples(early), kept + samples(late)];
        Self {
            before,
            after: samples(AFTER_S),
            kept_before: samples(KEPT_BEFORE_S),
            crowded: samples(CROWDED_BEFORE_S) as u64,
            looks: match inputs {
                Inputs::Pair => [search(NEAR_S, LATE_S / 3.0); CHANNELS],
                _ => {
                    let overhead = search(EARLY_S, LATE_S);
                    [overhead, overhead, search(NEAR_S, NEAR_S)]
                }
            },
        }
    }
}

/// Where to look for a front that is expected at `place`, in samples.
fn search(place: f64, rate: f64, length: usize) -> Search {
    let at = |seconds: f64| ((place + seconds * rate).max(0.0) as usize).min(length);
    Search {
        noise_from: at(-LOOK_BEFORE_S - NOISE_S),
        from: at(-LOOK_BEFORE_S),
        latest: at(LOOK_LATEST_S),
        to: at(LOOK_AFTER_S),
    }
}

fn to_lag(fit: Fit, body: f64, hits: u32, rate: f64) -> Lag {
    // A residual of 31 us puts the first null of the sum at 16 kHz: what an engineer would still call aligned.
    let aligned_s = 31e-6;
    let spread_s = fit.spread / rate;
    let hits = f64::from(hits);
    let decided = if fit.polarity == Polarity::Undecided {
        0.5
    } else {
        fit.agreement
    };
    Lag {
        attack_s: fit.attack / rate,
        body_s: body / rate,
        spread_s,
        polarity: fit.polarity,
        confidence: hits / (hits + 1.0) / (1.0 + (spread_s / aligned_s).powi(2)) * decided,
    }
}

/// Brightness of most kicks and toms in any close microphone lies below, of hats and cymbals above (own measurement).
fn name(voice: u8, brightness_db: f64) -> VoiceName {
    match brightness_db {
        _ if voice == 0 => VoiceName::Spot,
        b if b < -15.0 => VoiceName::Low,
        b if b < 0.0 => VoiceName::Middle,
        _ => VoiceName::High,
    }
}
