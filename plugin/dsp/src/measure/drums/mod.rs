//! The drums: kept hits sorted by the drum they were played on, and each drum measured again when it has news.
//!
//! Promises: the same hits in the same order give the same measurement. Called by `measure` alone. Calls `pair`, `hit`,
//! `math`, and writes a `measurement`.

pub(crate) mod average;
pub(crate) mod common_front;
pub(crate) mod sorting;

use crate::channels::{CHANNELS, Inputs, SPOT};
use crate::math::robust::{gather, median};
use crate::measure::drums::average::Stack;
use crate::measure::drums::common_front::{Overlay, Pattern, steps};
use crate::measure::hit::features::Listener;
use crate::measure::hit::kept::{MAX_TAKES, Take};
use crate::measure::hit::onset::ArrivalPicker;
use crate::measure::hit::picks::{self, look};
use crate::measure::hit::window::Geometry;
use crate::measure::lag_curve::{LagCurve, POINTS};
use crate::measure::pair::lag::{Fit, Pair, Wavefronts, half_agree};
use crate::measurement::{Lag, MAX_VOICES, Measurement, Polarity, Voice, VoiceName};

/// A voice is fitted anew when this part of its kept hits is new: every hit up to sixteen, every third of forty-eight.
/// What waits would move a mean by less than a quarter of its standard error, and a hit never costs more than sixteen.
const NEWS: usize = 16;
/// A place is looked at again when it has moved by more than half the time looked before.
const MOVED_S: f64 = 0.000_25;
/// Hits are laid over each other by fronts that stand 26 dB above what was heard before them: a drum's own in its own
/// microphone, and hardly ever a hat's.
const CLEAR: f64 = 20.0;
/// A hard stroke's body comes up to so much sooner after its front than a soft one's (kicks: own measurement).
const SOONER_S: f64 = 0.001;
/// Takes of another drum count this much more than the spot's own when room is needed: the spot's own is measured.
const OTHERS: usize = 2;

/// A voice as it was last laid and fitted.
#[derive(Clone, Copy, Debug, Default)]
struct Standing {
    /// Number of the fit; its takes bear it, too.
    fitted: Option<u64>,
    /// Order of the take on which the others are laid.
    base: u64,
    /// How much later the middle one of its takes begins than the base, samples.
    middle: f64,
    /// Where the fronts lie.
    pattern: Pattern,
    /// The main pair's fit.
    main: Option<Fit>,
    /// All lags; of the spot's own voice only.
    own: Option<Own>,
}

/// Lags of the spot's own voice.
#[derive(Clone, Copy, Debug)]
struct Own {
    gap: Option<Lag>,
    spot_to_first: Option<Lag>,
    spot_to_second: Option<Lag>,
}

/// Takes, voices and what times them. `new` allocates; nothing else does.
#[derive(Debug)]
pub(crate) struct Roster {
    inputs: Inputs,
    rate: f64,
    geometry: Geometry,
    overlay: Overlay,
    picker: ArrivalPicker,
    listener: Listener,
    stack: Stack,
    wavefronts: Wavefronts,
    spare: Vec<Take>,
    takes: Vec<Take>,
    /// Takes that were ever kept, and fits that were ever made.
    orders: u64,
    fits: u64,
    /// The spot's own voice first.
    voices: [Standing; MAX_VOICES],
    count: usize,
}

impl Roster {
    pub(crate) fn new(rate: f64, inputs: Inputs, geometry: Geometry) -> Self {
        let kept = geometry.kept_before + geometry.after;
        let take = || Take::new(kept, steps(rate, kept));
        Self {
            inputs,
            rate,
            geometry,
            overlay: Overlay::new(rate, kept),
            picker: ArrivalPicker::new(rate, kept),
            listener: Listener::new(rate),
            stack: Stack::new(rate, kept),
            wavefronts: Wavefronts::new(rate),
            spare: (0..MAX_TAKES).map(|_| take()).collect(),
            takes: Vec::with_capacity(MAX_TAKES),
            orders: 0,
            fits: 0,
            voices: Default::default(),
            count: 0,
        }
    }

    /// Forgets every hit.
    pub(crate) fn clear(&mut self) {
        self.spare.append(&mut self.takes);
        (self.orders, self.fits, self.count) = (0, 0, 0);
        self.voices = Default::default();
    }

    /// Keeps one hit's audio and measures with it; `None` when it has no clear front.
    pub(crate) fn add(&mut self, audio: [&[f32]; CHANNELS]) -> Option<u64> {
        let mut take = self.spare.pop().unwrap_or_else(|| self.forget());
        for (channel, audio) in audio.into_iter().enumerate() {
            take.audio[channel].copy_from_slice(audio);
            self.overlay.level(audio, &mut take.levels[channel]);
        }
        if !self.has_fronts(&take) {
            self.spare.push(take);
            return None;
        }
        self.orders += 1;
        take.begin(self.orders);
        self.describe(&mut take);
        self.takes.push(take);
        self.measure();
        Some(self.orders)
    }

    /// The take that was kept as the `order`-th, while it still is.
    pub(crate) fn take(&self, order: u64) -> Option<&Take> {
        self.takes.iter().find(|take| take.order == order)
    }

    /// The takes of the spot's own voice.
    pub(crate) fn own(&self) -> impl Iterator<Item = &Take> {
        self.takes.iter().filter(|take| take.voice == 0)
    }

    /// Writes what is known now.
    pub(crate) fn report(&self, measurement: &mut Measurement) {
        measurement.voice_count = self.count as u8;
        for (number, voice) in measurement.voices[..self.count].iter_mut().enumerate() {
            *voice = self.voice(number as u8);
        }
        measurement.hits = measurement.voices[0].hits;
        if let Some(own) = self.voices[0].own {
            measurement.gap = own.gap;
            measurement.spot_to_first = own.spot_to_first;
            measurement.spot_to_second = own.spot_to_second;
        }
    }

    /// How alike the main pair is at each lag, as the own voice was last fitted.
    pub(crate) fn lag_curve(&self) -> LagCurve {
        let mut curve = LagCurve::EMPTY;
        if let (Some(fit), Some(_)) = (self.voices[0].main, self.voices[0].own) {
            for point in 0..POINTS {
                let lag = LagCurve::lag_s(point) * self.rate - fit.attack;
                curve.fronts[point] = self.wavefronts.front_correlation(lag) as f32;
                curve.body[point] = self.wavefronts.body_correlation(lag) as f32;
            }
        }
        curve
    }

    /// The pair whose lag every voice tells.
    pub(crate) fn main(&self) -> Pair {
        match self.inputs {
            Inputs::MonoAndSpot => Pair { from: SPOT, to: 0 },
            _ => Pair { from: 0, to: 1 },
        }
    }

    /// The channel whose fronts the others are set against.
    fn reference(&self) -> usize {
        if self.inputs == Inputs::Pair { 0 } else { SPOT }
    }

    fn has_fronts(&mut self, take: &Take) -> bool {
        let needed: &[usize] = match self.inputs {
            Inputs::Pair => &[0, 1],
            Inputs::PairAndSpot => &[0, 1, SPOT],
            Inputs::MonoAndSpot => &[0, SPOT],
        };
        needed.iter().all(|channel| {
            let look = self.geometry.looks[*channel];
            self.overlay.has_front(&take.levels[*channel], look)
        })
    }

    /// What the hit sounds like.
    fn describe(&mut self, take: &mut Take) {
        let from = self.geometry.kept_before - self.geometry.kept_before / 12;
        let sound = self.listener.hear(&take.audio[self.reference()], from);
        take.brightness_db = sound.brightness_db();
        take.depth_db = sound.depth_db();
        take.loudness = sound.high;
        // Over all that is kept, so that it hardly matters when the spot came.
        let energy = |channel: usize| {
            let audio = take.audio[channel].iter();
            audio.map(|x| f64::from(*x).powi(2)).sum::<f64>() + f64::MIN_POSITIVE
        };
        take.closeness_db = match self.inputs {
            Inputs::Pair => 0.0,
            _ => 10.0 * (energy(SPOT) / (energy(0) + energy(1))).log10(),
        };
    }

    /// Room for a new hit: the oldest of the drum with the most goes, so that a busy hat cannot push out the snare.
    fn forget(&mut self) -> Take {
        let hits = |voice: u8| match self.members(voice).count() {
            own if voice == 0 => own,
            others => OTHERS * others,
        };
        let busiest = (0..MAX_VOICES as u8).max_by_key(|voice| hits(*voice));
        let mut of_busiest =
            (0..self.takes.len()).filter(|n| Some(self.takes[*n].voice) == busiest);
        let oldest = of_busiest.next().unwrap_or(0);
        let heir = of_busiest.next();
        let gone = self.takes.remove(oldest);
        if let Some(heir) = heir {
            self.takes[heir - 1].stands_for += gone.stands_for;
        }
        gone
    }

    fn measure(&mut self) {
        self.count = sorting::sort(&mut self.takes);
        let before = std::mem::take(&mut self.voices);
        for voice in 0..self.count {
            let standing = self.known(&before, voice as u8);
            self.voices[voice] = standing;
            self.refresh(voice as u8);
        }
    }

    fn members(&self, voice: u8) -> impl Iterator<Item = &Take> + Clone {
        self.takes.iter().filter(move |take| take.voice == voice)
    }

    /// What was known of most of a voice's takes.
    fn known(&self, before: &[Standing], voice: u8) -> Standing {
        let shared = |standing: &&Standing| {
            let same = |take: &&Take| take.fitted.is_some() && take.fitted == standing.fitted;
            self.members(voice).filter(same).count()
        };
        let most = before.iter().max_by_key(shared);
        most.filter(|standing| shared(standing) > 0)
            .copied()
            .unwrap_or_default()
    }

    /// Is enough of a voice new, or has it lost a take to another?
    fn has_news(&self, voice: u8) -> bool {
        let standing = &self.voices[usize::from(voice)];
        let of_fit = |take: &&Take| take.fitted == standing.fitted;
        let all = self.members(voice).count();
        let fresh = all - self.members(voice).filter(of_fit).count();
        let strayed = self.takes.iter().filter(of_fit).count() + fresh > all;
        let unfit = standing.fitted.is_none() || voice == 0 && standing.own.is_none();
        unfit || strayed || fresh * NEWS >= all
    }

    fn refresh(&mut self, voice: u8) {
        let news = self.has_news(voice);
        self.lay(voice);
        if news {
            self.centre(voice);
        }
        self.pick(voice);
        if news {
            self.fit(voice);
        }
    }

    /// Lays a voice's takes over one of them.
    fn lay(&mut self, voice: u8) {
        let standing = &mut self.voices[usize::from(voice)];
        let is_base = |take: &Take| take.voice == voice && take.order == standing.base;
        let newest = || self.takes.iter().rposition(|take| take.voice == voice);
        let Some(base) = self.takes.iter().position(is_base).or_else(newest) else {
            return;
        };
        standing.base = self.takes[base].order;
        let middle = standing.middle;
        let reference = self.reference();
        let look = self.geometry.looks[reference];
        let at = 0.5 * (look[0] + look[1]) as f64;
        for n in 0..self.takes.len() {
            let known = self.takes[n].laid_on == Some(self.takes[base].order);
            if self.takes[n].voice == voice && !known {
                let (one, other) = (&self.takes[base], &self.takes[n]);
                let later = self.overlay.shift(one, other, reference, at);
                self.takes[n].laid_on = Some(self.takes[base].order);
                self.takes[n].later = later;
                self.takes[n].shift = later - middle;
            }
        }
    }

    /// The base may be the odd one: shifts count from the middle. Finds the voice's common fronts.
    fn centre(&mut self, voice: u8) {
        let mut later = [0.0; MAX_TAKES];
        let count = gather(self.members(voice).map(|take| take.later), &mut later);
        let middle = median(&mut later[..count]).unwrap_or(0.0);
        for take in self.takes.iter_mut().filter(|take| take.voice == voice) {
            take.shift = take.later - middle;
        }
        self.voices[usize::from(voice)].middle = middle;
        self.find_pattern(voice);
        if self.inputs != Inputs::Pair && self.lay_by_fronts(voice) {
            self.find_pattern(voice);
        }
    }

    fn find_pattern(&mut self, voice: u8) {
        let members = self.takes.iter().filter(|take| take.voice == voice);
        let pattern = self.overlay.pattern(members, &self.geometry.looks);
        self.voices[usize::from(voice)].pattern = pattern;
    }

    /// A hard stroke's body comes sooner after its front than a soft one's: where most hits have a clear front in the spot,
    /// these are laid over each other instead. Has it been done?
    fn lay_by_fronts(&mut self, voice: u8) -> bool {
        let Some(front) = self.voices[usize::from(voice)].pattern[SPOT] else {
            return false;
        };
        for take in self.takes.iter_mut().filter(|take| take.voice == voice) {
            let place = front + take.shift;
            let seen = |before: f64| (place - before).abs() <= MOVED_S * self.rate;
            if !take.begin_looked_at.is_some_and(seen) {
                take.begin_looked_at = Some(place);
                let picks = look(&mut self.picker, &take.audio[SPOT], place, self.rate);
                take.begin = picks::front(&picks).filter(|_| picks::clear(&picks) >= CLEAR);
            }
        }
        let mut later = [0.0; MAX_TAKES];
        let begins = self.members(voice);
        let begins = begins.filter_map(|take| Some(take.begin? - take.shift));
        let count = gather(begins, &mut later);
        if 2 * count <= self.members(voice).count() {
            return false;
        }
        let middle = median(&mut later[..count]).unwrap_or(0.0);
        for take in self.takes.iter_mut().filter(|take| take.voice == voice) {
            let begin = take.begin.map(|begin| begin - middle);
            let own = begin.filter(|begin| (begin - take.shift).abs() <= SOONER_S * self.rate);
            take.shift = own.unwrap_or(take.shift);
        }
        true
    }

    /// Picks a voice's fronts where its hits agree that they lie.
    fn pick(&mut self, voice: u8) {
        let pattern = self.voices[usize::from(voice)].pattern;
        for take in self.takes.iter_mut().filter(|take| take.voice == voice) {
            for (channel, front) in pattern.iter().enumerate() {
                let place = front.map(|front| front + take.shift);
                let moved = match (place, take.looked_at[channel]) {
                    (Some(place), Some(before)) => (place - before).abs() > MOVED_S * self.rate,
                    (place, before) => place.is_some() || before.is_some(),
                };
                if moved {
                    let audio = &take.audio[channel];
                    let picks = place.map(|place| look(&mut self.picker, audio, place, self.rate));
                    take.looked_at[channel] = place;
                    take.picks[channel] = picks.unwrap_or_default();
                }
            }
        }
    }

    fn fit(&mut self, voice: u8) {
        self.fits += 1;
        for take in self.takes.iter_mut().filter(|take| take.voice == voice) {
            take.fitted = Some(self.fits);
        }
        self.stack.clear();
        let main = self.fit_pair(voice, self.main());
        let own = (voice == 0).then(|| self.fit_own(main));
        let standing = &mut self.voices[usize::from(voice)];
        standing.fitted = Some(self.fits);
        (standing.main, standing.own) = (main, own);
    }

    /// Fits one pair to a voice's hits; those of the spot's own, which decides, are asked together where they do not agree.
    fn fit_pair(&mut self, voice: u8, pair: Pair) -> Option<Fit> {
        let reference = self.reference();
        let members = self.takes.iter().filter(|take| take.voice == voice);
        let together = (voice == 0 && !half_agree(members.clone(), pair, self.rate)).then(|| {
            let pattern = &self.voices[usize::from(voice)].pattern;
            self.stack
                .lag(members, pattern, reference, pair, &mut self.picker)
        });
        self.wavefronts
            .fit(&self.takes, voice, pair, together.flatten())
    }

    /// All lags of the spot's own voice; `main` is the main pair's fit.
    fn fit_own(&mut self, main: Option<Fit>) -> Own {
        let lag = self.lag(self.main(), main);
        self.wavefronts.show();
        match self.inputs {
            Inputs::MonoAndSpot => Own {
                gap: None,
                spot_to_first: lag,
                spot_to_second: None,
            },
            Inputs::Pair => Own {
                gap: lag,
                spot_to_first: None,
                spot_to_second: None,
            },
            Inputs::PairAndSpot => Own {
                gap: lag,
                spot_to_first: self.lag_after_spot(0),
                spot_to_second: self.lag_after_spot(1),
            },
        }
    }

    fn lag_after_spot(&mut self, to: usize) -> Option<Lag> {
        let pair = Pair { from: SPOT, to };
        let fit = self.fit_pair(0, pair);
        self.lag(pair, fit)
    }

    fn lag(&mut self, pair: Pair, fit: Option<Fit>) -> Option<Lag> {
        let fit = fit?;
        let body = self.wavefronts.fullest(&self.takes, 0, pair, &fit);
        Some(to_lag(fit, body, hits(self.own()), self.rate))
    }

    fn voice(&self, voice: u8) -> Voice {
        let fit = self.voices[usize::from(voice)].main;
        let members = || self.members(voice);
        let brightness = members().map(|take| take.brightness_db).sum::<f64>();
        Voice {
            name: name(voice, brightness / members().count().max(1) as f64),
            hits: hits(members()),
            gap_s: fit.map_or(0.0, |fit| fit.attack / self.rate),
            spread_s: fit.map_or(0.0, |fit| fit.spread / self.rate),
        }
    }
}

/// Hits that the takes stand for.
fn hits<'a>(takes: impl Iterator<Item = &'a Take>) -> u32 {
    takes.map(|take| take.stands_for).sum()
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
