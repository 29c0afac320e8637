//! How far two microphones are apart in time, from every hit of one drum: first wavefronts together.
//!
//! The picks say where, within a sample or two and never a cycle off; the phase of the fronts themselves, in windows
//! of 2.5 ms laid there, says it to a hundredth of a sample. Where the fronts' phase and the picks do not agree the
//! drum is not a point for these microphones: the picks stand and the spread says so.

use realfft::num_complex::Complex64;

use crate::arrivals::PICKS;
use crate::body::BodyMatch;
use crate::delay_estimator::{
    Band, DelayEstimator, EstimatorSetup, LagPeak, LagSearch, Placed, Way, Window,
};
use crate::history::CHANNELS;
use crate::measurement::Polarity;
use crate::median::{weighed_median, weighed_scatter};
use crate::take::{Take, gather};

/// Most takes that are kept.
pub(crate) const MAX_TAKES: usize = 48;

/// In before the front, out before the early reflections have taken over; full weight only on the front itself.
const WINDOW: Window = Window {
    rise_s: 0.0005,
    flat_s: 0.0,
    fall_s: 0.002,
};
/// Where the picks are taken, too.
const BAND: Band = Band {
    low_hz: 1_000.0,
    high_hz: 9_000.0,
};
/// Between plain correlation and phase alone (Donohue, Hannemann & Dietz 2007, from memory: 0.6 to 0.8).
const WHITENING: f64 = 0.7;
/// The phase may move the picks by a quarter of a cycle of the band's middle, 5 kHz; farther off is another cycle.
const QUARTER_CYCLE_S: f64 = 0.25 / 5_000.0;
/// Part of the spectrum that must agree before the phase is believed: at a random phase of the window's 20
/// independent bins the height is 1/sqrt(20) = 0.22.
const PHASE_AGREES: f64 = 0.4;
/// A hit whose fronts lie farther than this from where the other hits' are heard something else first.
const ASTRAY_S: f64 = 0.0003;
/// Scatter from stroke to stroke of a drum that is hit in one place, in seconds: known before the first hit.
const USUAL_SCATTER_S: f64 = 10e-6;
/// Hits and pickers of which this part must say the same, or the polarity is undecided.
const MOST: f64 = 0.8;

/// Two of the three channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pair {
    pub from: usize,
    pub to: usize,
}

/// What the hits say, in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fit {
    pub attack: f64,
    pub body: f64,
    pub spread: f64,
    pub polarity: Polarity,
    /// Part of the hits' and pickers' votes that agree with the polarity, 0.5 to 1.
    pub agreement: f64,
}

/// The picks' own answer.
#[derive(Clone, Copy, Debug)]
struct Coarse {
    lag: f64,
    hits: f64,
    hit_scatter: f64,
    picker_scatter: f64,
}

/// Estimators and scratch for one pair after another.
#[derive(Debug)]
pub(crate) struct Wavefronts {
    rate: f64,
    estimator: DelayEstimator,
    common: Box<[Complex64]>,
    body: BodyMatch,
}

impl Wavefronts {
    pub(crate) fn new(rate: f64) -> Self {
        let estimator = DelayEstimator::new(EstimatorSetup {
            rate,
            window: WINDOW,
            band: BAND,
            whitening: WHITENING,
        });
        let bins = vec![Complex64::default(); estimator.bins()];
        Self {
            rate,
            estimator,
            common: bins.into(),
            body: BodyMatch::new(rate),
        }
    }

    /// The body's correlation of the last fit, `lag` samples from its attack.
    pub(crate) fn body_correlation(&self, lag: f64) -> f64 {
        self.body.correlation(lag)
    }

    /// The fronts' correlation of the last fit, `lag` samples from its attack.
    pub(crate) fn front_correlation(&self, lag: f64) -> f64 {
        let total: f64 = self.common.iter().map(|g| g.norm_sqr().sqrt()).sum();
        self.estimator
            .correlation(&self.common, 0..self.common.len(), lag)
            / total.max(f64::MIN_POSITIVE)
    }

    /// Fits one pair to the takes of one voice. `None` when no take has both fronts.
    pub(crate) fn fit(&mut self, takes: &[Take], voice: u8, pair: Pair) -> Option<Fit> {
        let of_voice = || takes.iter().filter(move |take| take.voice == voice);
        let coarse = coarse(of_voice(), pair)?;
        let offsets = Offsets::of(of_voice());
        let place = |take: &Take, lag: f64| offsets.place(take, pair, lag, ASTRAY_S * self.rate);
        let radius = QUARTER_CYCLE_S * self.rate;

        let mut lag = coarse.lag;
        let mut found = None;
        for _ in 0..4 {
            self.common.fill(Complex64::default());
            let mut laid = 0usize;
            for take in of_voice() {
                if let Some((from, to)) = place(take, lag) {
                    let (from, to) = (placed(take, pair.from, from), placed(take, pair.to, to));
                    self.estimator
                        .add_cross_spectrum(from, to, &mut self.common);
                    laid += 1;
                }
            }
            let search = LagSearch {
                centre: coarse.lag - lag,
                radius,
                way: Way::Either,
            };
            let all = 0..self.common.len();
            let peak = self.estimator.peak(&self.common, all, search);
            found = peak.filter(|peak| peak.height.abs() >= PHASE_AGREES * laid as f64);
            let Some(LagPeak { lag: more, .. }) = found else {
                lag = coarse.lag;
                break;
            };
            lag += more;
        }
        let same = found.map(|peak| peak.height > 0.0);
        let (polarity, agreement) = polarity(of_voice(), pair, same);
        let bands = self.band_disagreement(lag);
        let spread = self.spread(&coarse, found.map(|_| lag - coarse.lag), bands);

        self.body.clear();
        for take in of_voice() {
            if let Some((from, to)) = place(take, lag) {
                self.body
                    .add(placed(take, pair.from, from), placed(take, pair.to, to));
            }
        }
        let way = if polarity == Polarity::Inverted {
            Way::Inverted
        } else {
            Way::Same
        };
        Some(Fit {
            attack: lag,
            body: lag + self.body.fullest(way),
            spread,
            polarity,
            agreement,
        })
    }

    fn band_disagreement(&self, _lag: f64) -> f64 {
        let radius = QUARTER_CYCLE_S * self.rate;
        let middle = self
            .estimator
            .bins_below((BAND.low_hz * BAND.high_hz).sqrt());
        let search = LagSearch {
            centre: 0.0,
            radius,
            way: Way::Either,
        };
        let low = self.estimator.highest(&self.common, 0..middle, search).lag;
        let high = self
            .estimator
            .highest(&self.common, middle..self.common.len(), search)
            .lag;
        0.5 * (low - high).abs()
    }

    fn spread(&self, coarse: &Coarse, moved: Option<f64>, bands: f64) -> f64 {
        let usual = USUAL_SCATTER_S * self.rate;
        let hits = coarse.hits;
        let variance = (usual.powi(2) + hits * coarse.hit_scatter.powi(2)) / (hits + 1.0);
        let doubt = match moved {
            Some(moved) => (0.5 * moved)
                .hypot(0.5 * bands)
                .hypot(0.25 * coarse.picker_scatter),
            None => coarse.picker_scatter,
        };
        (variance / hits).sqrt().hypot(doubt)
    }
}

fn placed(take: &Take, channel: usize, at: f64) -> Placed<'_> {
    Placed {
        signal: &take.audio[channel],
        at,
    }
}

fn coarse<'a>(takes: impl Iterator<Item = &'a Take> + Clone, pair: Pair) -> Option<Coarse> {
    let Pair { from, to } = pair;
    let mut all = [(0.0, 0.0); MAX_TAKES * PICKS];
    let count = gather(
        takes.clone().flat_map(|take| take.lags(from, to).flatten()),
        &mut all,
    );
    let lag = weighed_median(&mut all[..count])?;

    let mut hits = [(0.0, 0.0); MAX_TAKES];
    let count = gather(
        takes.clone().filter_map(|take| take.weighed_lag(from, to)),
        &mut hits,
    );
    let hits = &mut hits[..count];
    let centre = weighed_median(hits)?;

    let mut pickers = [(0.0, 0.0); PICKS];
    let picker = |k: usize| {
        let mut one = [(0.0, 0.0); MAX_TAKES];
        let lags = takes
            .clone()
            .filter_map(|take| take.lags(from, to).nth(k).flatten());
        let count = gather(lags, &mut one);
        let weight = one[..count].iter().map(|lag| lag.1).sum::<f64>();
        weighed_median(&mut one[..count]).map(|lag| (lag, weight))
    };
    let picker_count = gather((0..PICKS).filter_map(picker), &mut pickers);
    Some(Coarse {
        lag,
        // Hits of unequal weight count as fewer (Kish 1965).
        hits: hits.iter().map(|hit| hit.1).sum::<f64>().powi(2)
            / hits.iter().map(|hit| hit.1.powi(2)).sum::<f64>(),
        hit_scatter: weighed_scatter(hits, centre),
        picker_scatter: weighed_scatter(&mut pickers[..picker_count], lag),
    })
}

/// Where each channel's front lies after the spot's, over all hits of the voice.
struct Offsets([Option<f64>; CHANNELS]);

impl Offsets {
    fn of<'a>(takes: impl Iterator<Item = &'a Take> + Clone) -> Self {
        Self(std::array::from_fn(|channel| {
            let mut lags = [(0.0, 0.0); MAX_TAKES];
            let lag = |take: &Take| take.weighed_lag(SPOT, channel);
            let count = gather(takes.clone().filter_map(lag), &mut lags);
            weighed_median(&mut lags[..count])
        }))
    }

    /// The front of one channel: its own picks', unless they went astray.
    fn front(&self, take: &Take, channel: usize, astray: f64) -> Option<f64> {
        let expected = take
            .front(SPOT)
            .zip(self.0[channel])
            .map(|(spot, offset)| spot + offset);
        match (take.front(channel), expected) {
            (Some(own), Some(expected)) if (own - expected).abs() > astray => Some(expected),
            (own, expected) => own.or(expected),
        }
    }

    fn place(&self, take: &Take, pair: Pair, lag: f64, astray: f64) -> Option<(f64, f64)> {
        let from = self.front(take, pair.from, astray);
        let to = self.front(take, pair.to, astray).map(|to| to - lag);
        let middle = match (from, to) {
            (Some(from), Some(to)) => 0.5 * (from + to),
            (from, to) => from.or(to)?,
        };
        Some((middle, middle + lag))
    }
}

/// The spot's channel.
pub(crate) const SPOT: usize = 2;

fn polarity<'a>(
    takes: impl Iterator<Item = &'a Take>,
    pair: Pair,
    phase: Option<bool>,
) -> (Polarity, f64) {
    let (mut same, mut votes) = (0.0, 0.0);
    for take in takes {
        let (mut yes, mut all) = (0.0, 0.0);
        for vote in take.same_way(pair.from, pair.to) {
            yes += if vote { 1.0 } else { 0.0 };
            all += 1.0;
        }
        if all > 0.0 {
            same += yes / all;
            votes += 1.0;
        }
    }
    if votes == 0.0 {
        return (Polarity::Undecided, 0.5);
    }
    let mut part: f64 = same / votes;
    if let Some(phase) = phase {
        part = 0.5 * part + if phase { 0.5 } else { 0.0 };
    }
    let verdict = if part >= MOST {
        Polarity::Same
    } else if part <= 1.0 - MOST {
        Polarity::Inverted
    } else {
        Polarity::Undecided
    };
    (verdict, part.max(1.0 - part))
}
