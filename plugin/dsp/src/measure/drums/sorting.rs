//! Sorts hits by drum: hits that sound alike, and as close to the spot, are one voice.

use crate::measure::hit::kept::MAX_TAKES;
use crate::measure::hit::kept::Take;
use crate::measurement::MAX_VOICES;

/// Brightness of one drum varies by 2 dB from stroke to stroke (open multi-microphone kits, own measurement).
const BRIGHTNESS_DB: f64 = 4.0;
/// How its first modes lie around 130 Hz varies less; a kick and a snare are 15 dB apart.
const DEPTH_DB: f64 = 3.0;
/// How close the spot is to a drum varies by 1 dB; a second drum struck in the same moment adds as much.
const CLOSENESS_DB: f64 = 2.0;
/// Sounds closer than this, in the units above, are one drum's.
const APART: f64 = 3.0;
/// Scatter from stroke to stroke of one drum, in the units above: known before the first hit.
const USUAL_SCATTER: f64 = 0.5;
/// Two clouds of strokes are apart when their middles are by this much more than their width: 2 is a clean cut between
/// two normal ones (Ashman, Bird & Zepf 1994), but 3.5 are the halves of a single even one.
const TWO_CLOUDS: f64 = 4.0;
/// First modes that lie around 130 Hz alike, give or take, are one drum's, struck on the head or on the rim.
const SAME_DRUM_DB: f64 = 6.0;
/// Drums that stand as close to the spot as the closest, give or take: the spot's own is one of them.
const AS_CLOSE_DB: f64 = 6.0;

/// Drums as loud to the ear as the loudest, give or take: of these the brightest is the spot's own (tried on grooves of real
/// strokes, no source).
const AS_LOUD_DB: f64 = 6.0;
/// A voice that is heard less often than a tenth of another one as close is a chance stroke and not the spot's own.
const RARE: u32 = 10;

/// Brightness, depth, closeness.
const SOUNDS: usize = 3;

/// Sorts all takes and writes their `voice`, the spot's own first; returns how many voices there are.
pub(crate) fn sort(takes: &mut [Take]) -> usize {
    let mut of = [0usize; MAX_TAKES];
    let of = &mut of[..takes.len()];
    of.iter_mut().enumerate().for_each(|(n, of)| *of = n);
    let mut count = takes.len();
    let mut sums = Distances::between(takes);
    while count > 1 {
        let (a, b, apart) = sums.nearest(count);
        if apart > APART && count <= MAX_VOICES {
            break;
        }
        count -= 1;
        join(of, a, b, count);
        sums.join(a, b, count);
    }
    while let Some((a, b)) = one_cloud(takes, of, count) {
        count -= 1;
        join(of, a, b, count);
    }
    name(takes, of, count);
    count
}

/// Sums of the distances between the takes of any two voices, and how many takes each has (average linkage: Sokal &
/// Michener 1958).
struct Distances {
    sums: [[f64; MAX_TAKES]; MAX_TAKES],
    sizes: [f64; MAX_TAKES],
}

impl Distances {
    fn between(takes: &[Take]) -> Self {
        let mut sums = [[0.0; MAX_TAKES]; MAX_TAKES];
        for (n, one) in takes.iter().enumerate() {
            for (m, other) in takes.iter().enumerate() {
                sums[n][m] = distance(one, other);
            }
        }
        let sizes = [1.0; MAX_TAKES];
        Self { sums, sizes }
    }

    /// The two of the first `count` voices that are nearest: mean distance between their takes.
    fn nearest(&self, count: usize) -> (usize, usize, f64) {
        let mut nearest = (0, 0, f64::MAX);
        for a in 0..count {
            for b in a + 1..count {
                let apart = self.sums[a][b] / (self.sizes[a] * self.sizes[b]);
                if apart < nearest.2 {
                    nearest = (a, b, apart);
                }
            }
        }
        nearest
    }

    /// Gives voice `b`'s takes to `a` and the last voice's number to what is left.
    fn join(&mut self, a: usize, b: usize, last: usize) {
        for other in 0..=last {
            let sum = self.sums[a][other] + self.sums[b][other];
            (self.sums[a][other], self.sums[other][a]) = (sum, sum);
        }
        self.sizes[a] += self.sizes[b];
        for other in 0..=last {
            let sum = self.sums[last][other];
            (self.sums[b][other], self.sums[other][b]) = (sum, sum);
        }
        self.sizes[b] = self.sizes[last];
    }
}

/// Writes the takes' voices, and `of` to match: the spot's own is 0.
fn name(takes: &mut [Take], of: &mut [usize], count: usize) {
    let own = own(takes, of, count);
    for (take, of) in takes.iter_mut().zip(of) {
        *of = match *of {
            voice if voice == own => 0,
            voice if voice < own => voice + 1,
            voice => voice,
        };
        take.voice = *of as u8;
    }
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

fn distance(one: &Take, other: &Take) -> f64 {
    length(between(sound(one), sound(other)))
}

/// A take's place among the sounds, in units in which a drum is one and less across.
fn sound(take: &Take) -> [f64; SOUNDS] {
    [
        take.brightness_db / BRIGHTNESS_DB,
        take.depth_db / DEPTH_DB,
        take.closeness_db / CLOSENESS_DB,
    ]
}

fn between(from: [f64; SOUNDS], to: [f64; SOUNDS]) -> [f64; SOUNDS] {
    std::array::from_fn(|n| to[n] - from[n])
}

fn length(way: [f64; SOUNDS]) -> f64 {
    way.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// The two voices that are least apart for their width, when that is too little for two: however many strokes of one
/// drum there are, its rare ones are not another.
fn one_cloud(takes: &[Take], of: &[usize], count: usize) -> Option<(usize, usize)> {
    let pairs = (0..count).flat_map(|a| (a + 1..count).map(move |b| (a, b)));
    let apart = |(a, b)| ((a, b), clouds_apart(takes, of, a, b));
    let least = pairs
        .map(apart)
        .min_by(|one, other| one.1.total_cmp(&other.1));
    least
        .filter(|least| least.1 < TWO_CLOUDS)
        .map(|least| least.0)
}

/// Distance of two voices' middles to their common width along the line between them (equal widths in Ashman, Bird &
/// Zepf 1994, eq. 2): a voice of one stroke is thought as wide as its neighbour.
fn clouds_apart(takes: &[Take], of: &[usize], a: usize, b: usize) -> f64 {
    let members = |voice: usize| {
        let of_voice = takes.iter().zip(of).filter(move |(_, of)| **of == voice);
        of_voice.map(|(take, _)| sound(take))
    };
    let count = |voice: usize| members(voice).count() as f64;
    let centre = |voice: usize| -> [f64; SOUNDS] {
        std::array::from_fn(|n| members(voice).map(|at| at[n]).sum::<f64>() / count(voice))
    };
    let (centre_a, centre_b) = (centre(a), centre(b));
    let line = between(centre_a, centre_b);
    let apart = length(line);
    let squares = |voice: usize, centre: [f64; SOUNDS]| -> f64 {
        let along = |at: [f64; SOUNDS]| -> f64 {
            let away = between(centre, at);
            away.iter().zip(line).map(|(x, y)| x * y).sum::<f64>() / apart
        };
        members(voice).map(|at| along(at).powi(2)).sum()
    };
    // The usual scatter counts as one stroke of each.
    let sum = 2.0 * USUAL_SCATTER.powi(2) + squares(a, centre_a) + squares(b, centre_b);
    apart / (sum / (count(a) + count(b))).sqrt()
}

/// The spot's own voice. Of the drums that stand closest to it and are loudest to the ear, the brightest is the spot's own:
/// a microphone is set up for its drum, and the kick is near every microphone, but dull there. Soft strokes between
/// loud ones make a drum's mean softer and not duller. Of that drum's voices (on the head, on the rim) the one with the
/// most hits measures.
fn own(takes: &[Take], of: &[usize], count: usize) -> usize {
    let members = |voice: usize| {
        let of_voice = takes.iter().zip(of).filter(move |(_, of)| **of == voice);
        of_voice.map(|(take, _)| take)
    };
    let hits = |voice: usize| members(voice).map(|take| take.stands_for).sum::<u32>();
    let mean = |voice: usize, of: fn(&Take) -> f64| {
        members(voice).map(of).sum::<f64>() / members(voice).count() as f64
    };
    let closeness = |voice: usize| mean(voice, |take| take.closeness_db);
    let loudness = |voice: usize| mean(voice, |take| take.loudness);
    let brightness = |voice: usize| mean(voice, |take| take.brightness_db);
    let depth = |voice: usize| mean(voice, |take| take.depth_db);
    let closest = (0..count).map(closeness).fold(f64::MIN, f64::max);
    let as_close = || (0..count).filter(|voice| closeness(*voice) > closest - AS_CLOSE_DB);
    let most = as_close().map(hits).max().unwrap_or(0);
    let near = || as_close().filter(|voice| RARE * hits(*voice) >= most);
    let loudest = near().map(loudness).fold(0.0, f64::max);
    let as_loud = |voice: &usize| loudness(*voice) > loudest * 10f64.powf(-0.1 * AS_LOUD_DB);
    let own = near()
        .filter(as_loud)
        .max_by(|a, b| brightness(*a).total_cmp(&brightness(*b)))
        .unwrap_or(0);
    let same_drum = |voice: &usize| (depth(*voice) - depth(own)).abs() < SAME_DRUM_DB;
    near()
        .filter(same_drum)
        .max_by_key(|voice| hits(*voice))
        .unwrap_or(own)
}
