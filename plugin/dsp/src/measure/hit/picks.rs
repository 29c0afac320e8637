//! What was picked in one channel of one hit, and what two channels' picks say together.

use crate::math::robust::{Weighed, gather, median, weighed_median};
use crate::measure::hit::onset::{ArrivalPicker, PICKS, Picks};
use crate::measure::hit::window::search;

/// Looks at one front: the first around where the other hits' lie, the last around itself.
const LOOKS: usize = 4;

/// Picks the front that is expected at `place`, in samples. Looks again around what was found until it stays, so that only
/// the channel's own audio matters.
pub(crate) fn look(picker: &mut ArrivalPicker, audio: &[f32], place: f64, rate: f64) -> Picks {
    picker.draw(audio);
    let mut picks = [None; PICKS];
    let mut around = Some(place.round());
    for _ in 0..LOOKS {
        let Some(place) = around else {
            break;
        };
        picks = picker.pick(search(place, rate, audio.len()));
        let found = front(&picks).map(f64::round);
        if std::mem::replace(&mut around, found) == found {
            break;
        }
    }
    picks
}

/// The first front: the middle one of the picks, in samples of the audio.
pub(crate) fn front(picks: &Picks) -> Option<f64> {
    let mut at = [0.0; PICKS];
    let count = gather(picks.iter().flatten().map(|pick| pick.at), &mut at);
    median(&mut at[..count])
}

/// How far the front stands above what was heard before it, in the band where it is clearest.
pub(crate) fn clear(picks: &Picks) -> f64 {
    let clear = picks.iter().flatten().map(|pick| pick.clear);
    clear.fold(0.0, f64::max)
}

/// Each picker's difference in samples, and how much it counts: noise moves a crossing by the rise over the ratio of front to
/// noise, so by the inverse of its variance. In the pickers' order.
pub(crate) fn lags(from: &Picks, to: &Picks) -> impl Iterator<Item = Option<Weighed>> {
    from.iter().zip(to).map(|(a, b)| {
        let (a, b) = (a.as_ref()?, b.as_ref()?);
        Some((b.at - a.at, a.clear.min(b.clear).powi(2)))
    })
}

/// The middle one of the same pickers' differences, `to` minus `from`, in samples, and how clear of other sounds the fronts
/// are.
pub(crate) fn lag(from: &Picks, to: &Picks) -> Option<Weighed> {
    let mut all = [(0.0, 0.0); PICKS];
    let count = gather(lags(from, to).flatten(), &mut all);
    let all = &mut all[..count];
    let weight = all.iter().map(|lag| lag.1).sum::<f64>();
    weighed_median(all).map(|lag| (lag, weight))
}
