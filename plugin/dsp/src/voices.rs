//! Sorts hits by drum: hits that sound alike and reach the microphones in the same pattern are one voice.

use crate::fronts::{Pattern, pattern};
use crate::measurement::MAX_VOICES;
use crate::take::Take;
use crate::wavefronts::MAX_TAKES;

/// Brightness of one drum varies by 2 dB from stroke to stroke (open multi-microphone kits, own measurement).
const BRIGHTNESS_DB: f64 = 2.0;
/// How close the spot is to a drum varies by 1 dB; a second drum struck in the same moment adds as much.
const CLOSENESS_DB: f64 = 2.0;
/// Sounds closer than this, in the units above, are one drum's.
const APART: f64 = 2.5;
/// Sounds that differ by up to twice as much are one drum's, struck softer or harder, when they arrive alike ...
const FAR_APART: f64 = 5.0;
/// ... within half a head, 7 cm of air.
const ARRIVE_ALIKE_S: f64 = 0.0002;
/// Drums that stand as close to the spot as the closest, give or take: the spot's own is one of them.
const AS_CLOSE_DB: f64 = 6.0;

/// Sorts all takes, writes their `voice`, the spot's own first, and each voice's arrival pattern; returns how many
/// voices there are.
pub(crate) fn sort(
    takes: &mut [Take],
    rate: f64,
    reference: usize,
    patterns: &mut [Pattern; MAX_VOICES],
) -> usize {
    let mut of = [0usize; MAX_TAKES];
    let of = &mut of[..takes.len()];
    let mut count = takes.len();
    of.iter_mut().enumerate().for_each(|(n, of)| *of = n);
    let mut distances = [[0.0; MAX_TAKES]; MAX_TAKES];
    for (n, one) in takes.iter().enumerate() {
        for (m, other) in takes.iter().enumerate().take(n) {
            distances[n][m] = distance(one, other);
        }
    }
    while count > 1 {
        let (a, b, apart) = nearest(&distances, of, count);
        if apart > APART && count <= MAX_VOICES {
            break;
        }
        join(of, a, b, count - 1);
        count -= 1;
    }
    let count = join_alike(takes, of, count, &distances, rate, reference);
    let own = own(takes, of, count);
    for (take, of) in takes.iter_mut().zip(of) {
        take.voice = if *of == own {
            0
        } else if *of < own {
            *of as u8 + 1
        } else {
            *of as u8
        };
    }
    for (voice, found) in patterns.iter_mut().enumerate().take(count) {
        *found = pattern(
            takes.iter().filter(|take| usize::from(take.voice) == voice),
            reference,
            rate,
        );
    }
    count
}

/// Joins voices that differ in sound but arrive alike.
fn join_alike(
    takes: &[Take],
    of: &mut [usize],
    mut count: usize,
    distances: &[[f64; MAX_TAKES]; MAX_TAKES],
    rate: f64,
    reference: usize,
) -> usize {
    loop {
        let mut patterns = [Pattern::default(); MAX_VOICES];
        for (voice, found) in patterns.iter_mut().enumerate().take(count) {
            let members = takes
                .iter()
                .zip(&*of)
                .filter(|(_, of)| **of == voice)
                .map(|(take, _)| take);
            *found = pattern(members, reference, rate);
        }
        let alike = |a: usize, b: usize| {
            let near = |(a, b): (&Option<f64>, &Option<f64>)| {
                a.zip(*b)
                    .is_none_or(|(a, b)| (a - b).abs() < ARRIVE_ALIKE_S * rate)
            };
            patterns[a].iter().zip(&patterns[b]).all(near)
                && mean_distance(distances, of, a, b) < FAR_APART
        };
        let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
        let Some((a, b)) = pairs.into_iter().find(|(a, b)| alike(*a, *b)) else {
            return count;
        };
        join(of, a, b, count - 1);
        count -= 1;
    }
}

fn mean_distance(
    distances: &[[f64; MAX_TAKES]; MAX_TAKES],
    of: &[usize],
    a: usize,
    b: usize,
) -> f64 {
    let (mut sum, mut pairs) = (0.0, 0.0);
    for n in 0..of.len() {
        for m in 0..n {
            if (of[n], of[m]) == (a, b) || (of[n], of[m]) == (b, a) {
                sum += distances[n][m];
                pairs += 1.0;
            }
        }
    }
    sum / pairs
}

/// Gives voice `b`'s takes to `a` and the last voice's number to what is left.
fn join(of: &mut [usize], a: usize, b: usize, last: usize) {
    for of in of {
        if *of == b {
            *of = a;
        } else if *of == last {
            *of = b;
        }
    }
}

/// The two voices that are nearest: mean distance between their takes.
fn nearest(
    distances: &[[f64; MAX_TAKES]; MAX_TAKES],
    of: &[usize],
    count: usize,
) -> (usize, usize, f64) {
    let mut sums = [[(0.0, 0.0); MAX_TAKES]; MAX_TAKES];
    for n in 0..of.len() {
        for m in 0..n {
            let (a, b) = (of[n].min(of[m]), of[n].max(of[m]));
            sums[a][b].0 += distances[n][m];
            sums[a][b].1 += 1.0;
        }
    }
    let mean = |(a, b): (usize, usize)| (a, b, sums[a][b].0 / sums[a][b].1);
    let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
    pairs
        .map(mean)
        .min_by(|one, other| one.2.total_cmp(&other.2))
        .unwrap_or((0, 0, f64::MAX))
}

fn distance(one: &Take, other: &Take) -> f64 {
    let brightness = (one.brightness_db - other.brightness_db) / BRIGHTNESS_DB;
    let closeness = (one.closeness_db - other.closeness_db) / CLOSENESS_DB;
    brightness.hypot(closeness)
}

/// The spot's own drum: of those that stand closest to it the one that fills it most to the ear.
fn own(takes: &[Take], of: &[usize], count: usize) -> usize {
    let members = |voice: usize| {
        takes
            .iter()
            .zip(of)
            .filter(move |(_, of)| **of == voice)
            .map(|(take, _)| take)
    };
    let closeness = |voice: usize| {
        members(voice).map(|take| take.closeness_db).sum::<f64>() / members(voice).count() as f64
    };
    let closest = (0..count).map(closeness).fold(f64::MIN, f64::max);
    let filled = |voice: usize| members(voice).map(|take| take.loudness).sum::<f64>();
    let near = (0..count).filter(|voice| closeness(*voice) > closest - AS_CLOSE_DB);
    near.max_by(|a, b| filled(*a).total_cmp(&filled(*b)))
        .unwrap_or(0)
}
