//! How far two microphones are apart in time, from every hit of one drum: first wavefronts together.
//!
//! The picks say where, within a sample or two and never a cycle off; the phase of the fronts themselves, in windows
//! of 2.5 ms laid there, says it to a hundredth of a sample. Where the fronts' phase and the picks do not agree the
//! drum is not a point for these microphones: the picks stand and the spread says so.

use realfft::num_complex::Complex64;

use crate::measure::hit::kept::KeptHit;
use crate::measure::hit::onset::{CLEAREST, FIRST_PEAK_S};
use crate::measure::pair::body::BodyMatch;
use crate::measure::pair::coarse::{Coarse, Pair, coarse};
use crate::measure::pair::cross_spectrum::{
    Band, DelayEstimator, EstimatorSetup, LagSearch, Placed, Way, Window,
};
use crate::measurement::Polarity;

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
/// A drum's first swing in and out, before the room answers below ...
const SWING: Window = Window {
    rise_s: 0.0005,
    flat_s: 0.001,
    fall_s: 0.003,
};
/// ... a frequency whose half wave is 0.8 ms, as far as a smeared front may be off and more.
const SWING_HZ: Band = Band {
    low_hz: 100.0,
    high_hz: 600.0,
};
/// Between plain correlation and phase alone (Donohue, Hannemann & Dietz 2007, from memory: 0.6 to 0.8).
const WHITENING: f64 = 0.7;
/// The phase may move the picks by a quarter of a cycle of the band's middle, 5 kHz, and by twice the error of noisy
/// picks; farther off is another cycle.
const QUARTER_CYCLE_S: f64 = 0.25 / 5_000.0;
/// At a random phase of the window's 20 independent bins the height is 1/sqrt(20) = 0.22, of several hits less by the
/// root of their number: two and a half times as much is believed ...
const RANDOM_PHASE: f64 = 0.55;
/// ... and this much even of a single hit.
const PHASE_AGREES: f64 = 0.4;
/// The peak must be higher than the nearest of the other sign by the height of a random phase; else a cable could be
/// reversed or the lag half a cycle off.
const STANDS_OUT: f64 = 0.22;
/// The windows move with the lag until less than this is left, in samples; each time it shrinks to a tenth or less.
const SETTLED: f64 = 1e-4;
const REFINEMENTS: usize = 12;
/// Scatter from stroke to stroke of a drum that is hit in one place, in seconds: known before the first hit.
const USUAL_SCATTER_S: f64 = 10e-6;
/// Hits and pickers of which this part must say the same, or the polarity is undecided.
const MOST: f64 = 0.8;

/// What the hits say, in samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fit {
    pub attack: f64,
    pub spread: f64,
    pub polarity: Polarity,
    /// Part of the hits' and pickers' votes that agree with the polarity, 0.5 to 1.
    pub agreement: f64,
}

/// Estimators and scratch for one pair after another.
#[derive(Debug)]
pub(crate) struct LagFitter {
    rate: f64,
    estimator: DelayEstimator,
    common: Box<[Complex64]>,
    single: Box<[Complex64]>,
    body: BodyMatch,
    swing: DelayEstimator,
    swing_common: Box<[Complex64]>,
    /// The fronts' common spectrum of the fit that is drawn.
    shown: Box<[Complex64]>,
}

impl LagFitter {
    pub(crate) fn new(rate: f64) -> Self {
        let estimator = DelayEstimator::new(EstimatorSetup {
            rate,
            window: WINDOW,
            band: BAND,
            whitening: WHITENING,
        });
        let bins = vec![Complex64::default(); estimator.bins()];
        let swing = DelayEstimator::new(EstimatorSetup {
            rate,
            window: SWING,
            band: SWING_HZ,
            whitening: 0.0,
        });
        Self {
            rate,
            estimator,
            common: bins.clone().into(),
            single: bins.clone().into(),
            shown: bins.into(),
            body: BodyMatch::new(rate),
            swing_common: vec![Complex64::default(); swing.bins()].into(),
            swing,
        }
    }

    /// Keeps the last fit and its body for drawing.
    pub(crate) fn show(&mut self) {
        self.shown.copy_from_slice(&self.common);
        self.body.show();
    }

    /// The body's correlation of the fit shown, `lag` samples from its attack.
    pub(crate) fn body_correlation(&self, lag: f64) -> f64 {
        self.body.correlation(lag)
    }

    /// The fronts' correlation of the fit shown, `lag` samples from its attack.
    pub(crate) fn front_correlation(&self, lag: f64) -> f64 {
        self.estimator.relative_correlation(&self.shown, lag)
    }

    /// Fits one pair to the hits of one voice; `together` is what the hits say as one, where they do not agree. `None` when
    /// no take has both fronts.
    pub(crate) fn fit(
        &mut self,
        kept: &[KeptHit],
        voice: u8,
        pair: Pair,
        together: Option<f64>,
    ) -> Option<Fit> {
        let of_voice = || kept.iter().filter(move |hit| hit.voice == voice);
        let coarse = coarse(of_voice(), pair, self.rate, together)?;
        let laid = |lag: f64| of_voice().filter_map(move |hit| lay(hit, pair, lag));
        let moved = self.refine(&coarse, &laid);
        let lag = coarse.lag + moved.map_or(0.0, |moved| moved.by);
        let votes = self.vote(laid(lag));
        let picks = picks_agree(of_voice(), pair);
        let clear = moved.filter(|moved| moved.clear).map(|_| &votes);
        let part = match fronts_agree(clear, picks) {
            part if decided(part) == Polarity::Undecided => self.first_swing_agrees(laid(lag)),
            part => part,
        };
        Some(Fit {
            attack: lag,
            spread: self.spread(&coarse, moved),
            polarity: decided(part),
            agreement: part.max(1.0 - part),
        })
    }

    /// The lag within 1 ms of the fit's at which the pair is fullest over the drum's body, in samples.
    pub(crate) fn fullest(&mut self, kept: &[KeptHit], voice: u8, pair: Pair, fit: &Fit) -> f64 {
        let of_voice = || kept.iter().filter(move |hit| hit.voice == voice);
        self.body.clear();
        for (from, to) in of_voice().filter_map(|hit| lay(hit, pair, fit.attack)) {
            self.body.add(from, to);
        }
        let way = match fit.polarity {
            Polarity::Inverted => Way::Inverted,
            _ => Way::Same,
        };
        fit.attack + self.body.fullest(way)
    }

    /// How far the phase of the fronts moves the picks' lag; `None` when it does not agree with them.
    fn refine<'a, Laid>(&mut self, coarse: &Coarse, laid: &impl Fn(f64) -> Laid) -> Option<Moved>
    where
        Laid: Iterator<Item = (Placed<'a>, Placed<'a>)>,
    {
        let mut moved = 0.0;
        let mut hits: f64 = 0.0;
        for _ in 0..REFINEMENTS {
            self.common.fill(Complex64::default());
            hits = 0.0;
            for (from, to) in laid(coarse.lag + moved) {
                self.estimator
                    .add_cross_spectrum(from, to, &mut self.common);
                hits += 1.0;
            }
            let search = LagSearch {
                centre: -moved,
                radius: self.reach(coarse),
                way: Way::Either,
            };
            let peak = self
                .estimator
                .peak(&self.common, 0..self.common.len(), search)?;
            if peak.height.abs() < hits * (RANDOM_PHASE / hits.sqrt()).min(PHASE_AGREES) {
                return None;
            }
            moved += peak.lag;
            if peak.lag.abs() < SETTLED {
                break;
            }
        }
        let clear = self.clear(hits);
        // A peak like any other is not worth leaving the picks for.
        (clear || moved.abs() <= QUARTER_CYCLE_S * self.rate).then_some(Moved { by: moved, clear })
    }

    /// How far the phase may move the picks, in samples.
    fn reach(&self, coarse: &Coarse) -> f64 {
        QUARTER_CYCLE_S * self.rate + self.noise(coarse) + 2.0 * self.hits_error(coarse)
    }

    /// How far noise moves one crossing: by the time of the rise over the ratio of front to noise. In samples.
    fn noise(&self, coarse: &Coarse) -> f64 {
        FIRST_PEAK_S * self.rate * (1.0 / coarse.clear - 1.0 / CLEAREST).max(0.0)
    }

    /// Does the common correlation at lag zero, where the windows now lie, stand out from the nearest of the other
    /// sign?
    fn clear(&self, hits: f64) -> bool {
        let all = 0..self.common.len();
        let here = self.estimator.correlation(&self.common, all.clone(), 0.0);
        let search = LagSearch {
            centre: 0.0,
            radius: 2.0 * QUARTER_CYCLE_S * self.rate,
            way: if here > 0.0 { Way::Inverted } else { Way::Same },
        };
        let other = self.estimator.highest(&self.common, all, search).height;
        here.abs() - other.abs() >= STANDS_OUT * hits
    }

    /// What each hit's own phase says at the common lag, on which the windows lie.
    fn vote<'a>(&mut self, laid: impl Iterator<Item = (Placed<'a>, Placed<'a>)>) -> Votes {
        self.common.fill(Complex64::default());
        let all = 0..self.common.len();
        let mut votes = Votes::default();
        for (from, to) in laid {
            self.single.fill(Complex64::default());
            self.estimator
                .add_cross_spectrum(from, to, &mut self.single);
            let height = self.estimator.correlation(&self.single, all.clone(), 0.0);
            votes.upright += height.max(0.0);
            votes.heights += height.abs();
            self.common
                .iter_mut()
                .zip(&self.single)
                .for_each(|(sum, one)| *sum += one);
        }
        let middle = self
            .estimator
            .bins_below((BAND.low_hz * BAND.high_hz).sqrt());
        let upright = |part| self.estimator.correlation(&self.common, part, 0.0) > 0.0;
        votes.low_upright = upright(0..middle);
        votes.high_upright = upright(middle..all.end);
        votes
    }

    /// Part of the drum's first swing that has both channels pushed the same way, where its fronts do not say: its waves are
    /// so long that a lag some samples off does not turn them over.
    fn first_swing_agrees<'a>(
        &mut self,
        laid: impl Iterator<Item = (Placed<'a>, Placed<'a>)>,
    ) -> f64 {
        self.swing_common.fill(Complex64::default());
        for (from, to) in laid {
            self.swing
                .add_cross_spectrum(from, to, &mut self.swing_common);
        }
        0.5 + 0.5 * self.swing.relative_correlation(&self.swing_common, 0.0)
    }

    /// Standard error of the lag: the hits' scatter, the noise they stand in, and how far picks, phase and bands are from
    /// saying the same.
    fn spread(&self, coarse: &Coarse, moved: Option<Moved>) -> f64 {
        let pickers = coarse.picker_scatter.min(FIRST_PEAK_S * self.rate);
        let doubt = match moved {
            Some(Moved { by, clear: true }) => (0.5 * by)
                .hypot(0.5 * self.band_disagreement())
                .hypot(0.25 * pickers),
            // The lag may be half a cycle off.
            _ => {
                let by = moved.map_or(0.0, |moved| moved.by);
                (0.5 * by).hypot(QUARTER_CYCLE_S * self.rate).hypot(pickers)
            }
        };
        let noise = self.noise(coarse) / coarse.hits.sqrt();
        self.hits_error(coarse).hypot(doubt).hypot(noise)
    }

    /// Standard error that the hits' own scatter tells; the usual scatter counts as one hit more.
    fn hits_error(&self, coarse: &Coarse) -> f64 {
        let usual = USUAL_SCATTER_S * self.rate;
        let variance =
            (usual.powi(2) + coarse.hits * coarse.hit_scatter.powi(2)) / (coarse.hits + 1.0);
        (variance / coarse.hits).sqrt()
    }

    /// Half of the distance between what the lower and the upper half of the band say.
    fn band_disagreement(&self) -> f64 {
        let search = LagSearch {
            centre: 0.0,
            radius: QUARTER_CYCLE_S * self.rate,
            way: Way::Either,
        };
        let middle = self
            .estimator
            .bins_below((BAND.low_hz * BAND.high_hz).sqrt());
        let low = self.estimator.highest(&self.common, 0..middle, search).lag;
        let high = self
            .estimator
            .highest(&self.common, middle..self.common.len(), search)
            .lag;
        0.5 * (low - high).abs()
    }
}

/// What the phase made of the picks' lag.
#[derive(Clone, Copy, Debug)]
struct Moved {
    /// Samples.
    by: f64,
    /// The peak stands out from those of the other sign.
    clear: bool,
}

/// What the fronts' phase says about polarity.
#[derive(Clone, Copy, Debug, Default)]
struct Votes {
    /// Sum of the hits' correlations that are upright, and of all without their sign.
    upright: f64,
    heights: f64,
    /// The common correlation of the lower and the upper half of the band.
    low_upright: bool,
    high_upright: bool,
}

/// Part of the pickers, each hit counting once, whose two fronts push the same way; `None` without picks.
fn picks_agree<'a>(kept: impl Iterator<Item = &'a KeptHit>, pair: Pair) -> Option<f64> {
    let (mut same, mut hits) = (0.0, 0.0);
    for hit in kept {
        let votes = hit.same_way(pair.from, pair.to);
        let (yes, all) = votes.fold((0.0, 0.0), |(yes, all), vote| {
            (yes + f64::from(u8::from(vote)), all + 1.0)
        });
        if all > 0.0 {
            same += yes / all;
            hits += 1.0;
        }
    }
    (hits > 0.0).then(|| same / hits)
}

/// Part of what the fronts say that has them push the same way. The phase counts four times: the hits' votes twice, each
/// half of the band once; the picks once, and alone where the phase does not agree with them.
fn fronts_agree(phase: Option<&Votes>, picks: Option<f64>) -> f64 {
    let picks = picks.unwrap_or(0.5);
    let one = |upright: bool| f64::from(u8::from(upright));
    phase.map_or(picks, |votes| {
        let hits = votes.upright / votes.heights.max(f64::MIN_POSITIVE);
        (2.0 * hits + one(votes.low_upright) + one(votes.high_upright) + picks) / 5.0
    })
}

fn decided(part: f64) -> Polarity {
    match part {
        part if part >= MOST => Polarity::Same,
        part if part <= 1.0 - MOST => Polarity::Inverted,
        _ => Polarity::Undecided,
    }
}

fn placed(hit: &KeptHit, channel: usize, at: f64) -> Placed<'_> {
    Placed {
        signal: &hit.audio[channel],
        at,
    }
}

/// Both channels of a hit with the windows' places, `lag` apart: in the middle of what the two channels' picks say;
/// where one has none the other's, where neither has any where the overlaid hits jump.
fn lay(hit: &KeptHit, pair: Pair, lag: f64) -> Option<(Placed<'_>, Placed<'_>)> {
    let back = |to: f64| to - lag;
    let (from, to) = (hit.front(pair.from), hit.front(pair.to).map(back));
    let middle = match (from, to) {
        (Some(from), Some(to)) => 0.5 * (from + to),
        (from, to) => from.or(to).or(hit.looked_at[pair.from])?,
    };
    Some((
        placed(hit, pair.from, middle),
        placed(hit, pair.to, middle + lag),
    ))
}
