//! The lag of a pair that most hits' picks agree on: within a sample or two, and never a cycle off.

use crate::math::robust::{gather, weighed_median, weighed_scatter};
use crate::measure::hit::kept::{KeptHit, MAX_HITS};
use crate::measure::hit::onset::PICKS;

/// Hits of one drum agree within an eighth of a millisecond, 4 cm; what is farther from where most agree is another sound's.
const NEAR_S: f64 = 0.000_125;
/// What the hits say as one is believed over the lag that most are near unless more than twice as many are near that (1.5 to 4
/// times: the same on sixty kick grooves).
const BELIEVED: usize = 2;
/// Two of the three channels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Pair {
    pub from: usize,
    pub to: usize,
}

/// The picks' own answer.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Coarse {
    pub lag: f64,
    /// How far the fronts stand above what was heard before them, on the average.
    pub clear: f64,
    pub hits: f64,
    pub hit_scatter: f64,
    pub picker_scatter: f64,
}

/// Without a single pick, as in a wash as loud as the drum: what the hits say as one, or where they jump when laid over each
/// other.
fn coarsest<'a>(
    kept: impl Iterator<Item = &'a KeptHit> + Clone,
    pair: Pair,
    together: Option<f64>,
) -> Option<Coarse> {
    let mut hits = [(0.0, 0.0); MAX_HITS];
    let lag = |hit: &KeptHit| Some((hit.looked_at[pair.to]? - hit.looked_at[pair.from]?, 1.0));
    let count = gather(kept.filter_map(lag), &mut hits);
    let lag = together.or(weighed_median(&mut hits[..count]))?;
    Some(Coarse {
        lag,
        clear: 1.0,
        hits: count as f64,
        hit_scatter: 0.0,
        picker_scatter: f64::INFINITY,
    })
}

/// The lag that most hits are near, each counting once and more the nearer it is: fronts of one drum come together, hats
/// before them each in its own time, however clear they are.
fn agreed<'a>(
    kept: impl Iterator<Item = &'a KeptHit> + Clone,
    pair: Pair,
    near: f64,
) -> Option<f64> {
    let mut lags = [0.0; MAX_HITS];
    let count = gather(
        kept.filter_map(|hit| hit.lag(pair.from, pair.to)),
        &mut lags,
    );
    let lags = &lags[..count];
    let votes = |at: f64| -> f64 {
        let away = lags.iter().map(|lag| (lag - at).abs() / near);
        let near = away.filter(|away| *away <= 1.0);
        near.map(|away| 1.0 - 0.5 * away).sum()
    };
    let most = |a: &f64, b: &f64| votes(*a).total_cmp(&votes(*b));
    lags.iter().copied().max_by(most)
}

/// How many hits say so, give or take.
fn near<'a>(kept: impl Iterator<Item = &'a KeptHit>, pair: Pair, lag: f64, apart: f64) -> usize {
    let lags = kept.filter_map(|hit| hit.lag(pair.from, pair.to));
    lags.filter(|own| (own - lag).abs() <= apart).count()
}

/// Do half of the hits or more say the same lag?
pub(crate) fn half_agree<'a>(
    kept: impl Iterator<Item = &'a KeptHit> + Clone,
    pair: Pair,
    rate: f64,
) -> bool {
    let all = kept.clone().count();
    agreed(kept.clone(), pair, NEAR_S * rate)
        .is_some_and(|lag| 2 * near(kept, pair, lag, NEAR_S * rate) >= all)
}

pub(crate) fn coarse<'a>(
    kept: impl Iterator<Item = &'a KeptHit> + Clone,
    pair: Pair,
    rate: f64,
    together: Option<f64>,
) -> Option<Coarse> {
    let Pair { from, to } = pair;
    let apart = NEAR_S * rate;
    let agreed = agreed(kept.clone(), pair, apart);
    let say = |lag: f64| near(kept.clone(), pair, lag, apart);
    let agreed = match (agreed, together) {
        (Some(hits), Some(sum)) if BELIEVED * say(sum) < say(hits) => Some(hits),
        (hits, sum) => sum.or(hits),
    };
    let agrees = |hit: &&KeptHit| {
        let lag = hit.lag(from, to).zip(agreed);
        lag.is_some_and(|(lag, agreed)| (lag - agreed).abs() <= apart)
    };
    let mut all = [(0.0, 0.0); MAX_HITS * PICKS];
    let of_agreed = kept.clone().filter(agrees);
    let count = gather(
        of_agreed.flat_map(|hit| hit.lags(from, to).flatten()),
        &mut all,
    );
    let Some(lag) = weighed_median(&mut all[..count]) else {
        return coarsest(kept, pair, together);
    };
    let clear = (all[..count].iter().map(|lag| lag.1).sum::<f64>() / count as f64).sqrt();

    let mut hits = [(0.0, 0.0); MAX_HITS];
    let count = gather(
        kept.clone().filter_map(|hit| hit.weighed_lag(from, to)),
        &mut hits,
    );
    let hits = &mut hits[..count];
    let centre = weighed_median(hits)?;

    let mut pickers = [(0.0, 0.0); PICKS];
    let picker = |k: usize| {
        let mut one = [(0.0, 0.0); MAX_HITS];
        let lags = kept
            .clone()
            .filter_map(|hit| hit.lags(from, to).nth(k).flatten());
        let count = gather(lags, &mut one);
        let weight = one[..count].iter().map(|lag| lag.1).sum::<f64>();
        weighed_median(&mut one[..count]).map(|lag| (lag, weight))
    };
    let picker_count = gather((0..PICKS).filter_map(picker), &mut pickers);
    Some(Coarse {
        lag,
        clear,
        // Hits of unequal weight count as fewer (Kish 1965).
        hits: hits.iter().map(|hit| hit.1).sum::<f64>().powi(2)
            / hits.iter().map(|hit| hit.1.powi(2)).sum::<f64>(),
        hit_scatter: weighed_scatter(hits, centre),
        picker_scatter: weighed_scatter(&mut pickers[..picker_count], lag),
    })
}
