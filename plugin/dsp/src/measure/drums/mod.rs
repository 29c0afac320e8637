//! The drums: kept hits sorted by the drum they were played on, and each drum measured again when it has news.
//!
//! Promises: the same hits in the same order give the same measurement. Called by `measure` alone. Calls `pair`, `hit`,
//! `math`, and writes a `measurement`.

pub(crate) mod average;
pub(crate) mod common_front;
mod laying;
pub(crate) mod sorting;

use crate::channels::{CHANNELS, Inputs, SPOT};
use crate::measure::drums::average::WeightedAverage;
use crate::measure::drums::common_front::{CommonFront, Pattern, steps};
use crate::measure::hit::features::FeatureExtractor;
use crate::measure::hit::kept::{KeptHit, MAX_HITS};
use crate::measure::hit::onset::OnsetPicker;
use crate::measure::hit::window::HitWindow;
use crate::measure::lag_curve::{LagCurve, POINTS};
use crate::measure::pair::coarse::{Pair, half_agree};
use crate::measure::pair::lag::{Fit, LagFitter};
use crate::measurement::{Lag, MAX_VOICES, Measurement, Polarity, Voice, VoiceName};

/// A voice is fitted anew when this part of its kept hits is new: every hit up to sixteen, every third of forty-eight.
/// What waits would move a mean by less than a quarter of its standard error, and a hit never costs more than sixteen.
const NEWS: usize = 16;
/// Takes of another drum count this much more than the spot's own when room is needed: the spot's own is measured.
const OTHERS: usize = 2;

/// A voice as it was last laid and fitted.
#[derive(Clone, Copy, Debug, Default)]
struct Standing {
    /// Number of the fit; its takes bear it, too.
    fitted: Option<u64>,
    /// Order of the hit on which the others are laid.
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
pub(crate) struct Drums {
    inputs: Inputs,
    rate: f64,
    window: HitWindow,
    common_front: CommonFront,
    picker: OnsetPicker,
    extractor: FeatureExtractor,
    stack: WeightedAverage,
    lag_fitter: LagFitter,
    spare: Vec<KeptHit>,
    kept: Vec<KeptHit>,
    /// Takes that were ever kept, and fits that were ever made.
    orders: u64,
    fits: u64,
    /// The spot's own voice first.
    voices: [Standing; MAX_VOICES],
    count: usize,
}

impl Drums {
    pub(crate) fn new(rate: f64, inputs: Inputs, window: HitWindow) -> Self {
        let kept = window.kept_before + window.after;
        let hit = || KeptHit::new(kept, steps(rate, kept));
        Self {
            inputs,
            rate,
            window,
            common_front: CommonFront::new(rate, kept),
            picker: OnsetPicker::new(rate, kept),
            extractor: FeatureExtractor::new(rate),
            stack: WeightedAverage::new(rate, kept),
            lag_fitter: LagFitter::new(rate),
            spare: (0..MAX_HITS).map(|_| hit()).collect(),
            kept: Vec::with_capacity(MAX_HITS),
            orders: 0,
            fits: 0,
            voices: Default::default(),
            count: 0,
        }
    }

    /// Forgets every hit.
    pub(crate) fn clear(&mut self) {
        self.spare.append(&mut self.kept);
        (self.orders, self.fits, self.count) = (0, 0, 0);
        self.voices = Default::default();
    }

    /// Keeps one hit's audio and measures with it; `None` when it has no clear front.
    pub(crate) fn add(&mut self, audio: [&[f32]; CHANNELS]) -> Option<u64> {
        let mut hit = self.spare.pop().unwrap_or_else(|| self.forget());
        for (channel, audio) in audio.into_iter().enumerate() {
            hit.audio[channel].copy_from_slice(audio);
            self.common_front.level(audio, &mut hit.levels[channel]);
        }
        if !self.has_fronts(&hit) {
            self.spare.push(hit);
            return None;
        }
        self.orders += 1;
        hit.begin(self.orders);
        self.describe(&mut hit);
        self.kept.push(hit);
        self.measure();
        Some(self.orders)
    }

    /// The take that was kept as the `order`-th, while it still is.
    pub(crate) fn hit(&self, order: u64) -> Option<&KeptHit> {
        self.kept.iter().find(|hit| hit.order == order)
    }

    /// The takes of the spot's own voice.
    pub(crate) fn own(&self) -> impl Iterator<Item = &KeptHit> {
        self.kept.iter().filter(|hit| hit.voice == 0)
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
                curve.fronts[point] = self.lag_fitter.front_correlation(lag) as f32;
                curve.body[point] = self.lag_fitter.body_correlation(lag) as f32;
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

    fn has_fronts(&mut self, hit: &KeptHit) -> bool {
        let needed: &[usize] = match self.inputs {
            Inputs::Pair => &[0, 1],
            Inputs::PairAndSpot => &[0, 1, SPOT],
            Inputs::MonoAndSpot => &[0, SPOT],
        };
        needed.iter().all(|channel| {
            let look = self.window.search_ranges[*channel];
            self.common_front.has_front(&hit.levels[*channel], look)
        })
    }

    /// What the hit sounds like.
    fn describe(&mut self, hit: &mut KeptHit) {
        let from = self.window.kept_before - self.window.kept_before / 12;
        let sound = self.extractor.hear(&hit.audio[self.reference()], from);
        hit.brightness_db = sound.brightness_db();
        hit.depth_db = sound.depth_db();
        hit.loudness = sound.high;
        // Over all that is kept, so that it hardly matters when the spot came.
        let energy = |channel: usize| {
            let audio = hit.audio[channel].iter();
            audio.map(|x| f64::from(*x).powi(2)).sum::<f64>() + f64::MIN_POSITIVE
        };
        hit.closeness_db = match self.inputs {
            Inputs::Pair => 0.0,
            _ => 10.0 * (energy(SPOT) / (energy(0) + energy(1))).log10(),
        };
    }

    /// Room for a new hit: the oldest of the drum with the most goes, so that a busy hat cannot push out the snare.
    fn forget(&mut self) -> KeptHit {
        let hits = |voice: u8| match self.members(voice).count() {
            own if voice == 0 => own,
            others => OTHERS * others,
        };
        let busiest = (0..MAX_VOICES as u8).max_by_key(|voice| hits(*voice));
        let mut of_busiest = (0..self.kept.len()).filter(|n| Some(self.kept[*n].voice) == busiest);
        let oldest = of_busiest.next().unwrap_or(0);
        let heir = of_busiest.next();
        let gone = self.kept.remove(oldest);
        if let Some(heir) = heir {
            self.kept[heir - 1].stands_for += gone.stands_for;
        }
        gone
    }

    fn measure(&mut self) {
        self.count = sorting::sort(&mut self.kept);
        let before = std::mem::take(&mut self.voices);
        for voice in 0..self.count {
            let standing = self.known(&before, voice as u8);
            self.voices[voice] = standing;
            self.refresh(voice as u8);
        }
    }

    fn members(&self, voice: u8) -> impl Iterator<Item = &KeptHit> + Clone {
        self.kept.iter().filter(move |hit| hit.voice == voice)
    }

    /// What was known of most of a voice's hits.
    fn known(&self, before: &[Standing], voice: u8) -> Standing {
        let shared = |standing: &&Standing| {
            let same = |hit: &&KeptHit| hit.fitted.is_some() && hit.fitted == standing.fitted;
            self.members(voice).filter(same).count()
        };
        let most = before.iter().max_by_key(shared);
        most.filter(|standing| shared(standing) > 0)
            .copied()
            .unwrap_or_default()
    }

    /// Is enough of a voice new, or has it lost a hit to another?
    fn has_news(&self, voice: u8) -> bool {
        let standing = &self.voices[usize::from(voice)];
        let of_fit = |hit: &&KeptHit| hit.fitted == standing.fitted;
        let all = self.members(voice).count();
        let fresh = all - self.members(voice).filter(of_fit).count();
        let strayed = self.kept.iter().filter(of_fit).count() + fresh > all;
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

    fn fit(&mut self, voice: u8) {
        self.fits += 1;
        for hit in self.kept.iter_mut().filter(|hit| hit.voice == voice) {
            hit.fitted = Some(self.fits);
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
        let members = self.kept.iter().filter(|hit| hit.voice == voice);
        let together = (voice == 0 && !half_agree(members.clone(), pair, self.rate)).then(|| {
            let pattern = &self.voices[usize::from(voice)].pattern;
            self.stack
                .lag(members, pattern, reference, pair, &mut self.picker)
        });
        self.lag_fitter
            .fit(&self.kept, voice, pair, together.flatten())
    }

    /// All lags of the spot's own voice; `main` is the main pair's fit.
    fn fit_own(&mut self, main: Option<Fit>) -> Own {
        let lag = self.lag(self.main(), main);
        self.lag_fitter.show();
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
        let body = self.lag_fitter.fullest(&self.kept, 0, pair, &fit);
        Some(to_lag(fit, body, hits(self.own()), self.rate))
    }

    fn voice(&self, voice: u8) -> Voice {
        let fit = self.voices[usize::from(voice)].main;
        let members = || self.members(voice);
        let brightness = members().map(|hit| hit.brightness_db).sum::<f64>();
        Voice {
            name: name(voice, brightness / members().count().max(1) as f64),
            hits: hits(members()),
            gap_s: fit.map_or(0.0, |fit| fit.attack / self.rate),
            spread_s: fit.map_or(0.0, |fit| fit.spread / self.rate),
        }
    }
}

/// Hits that the hits stand for.
fn hits<'a>(kept: impl Iterator<Item = &'a KeptHit>) -> u32 {
    kept.map(|hit| hit.stands_for).sum()
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
