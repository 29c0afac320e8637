//! Sorts hits by drum: hits that sound alike, and as close to the spot, are one voice.

use crate::measurement::MAX_VOICES;
use crate::median::median;
use crate::overlay::{Looks, Overlay, Pattern};
use crate::take::{Take, gather};
use crate::wavefronts::MAX_TAKES;

/// Brightness of one drum varies by 2 dB from stroke to stroke (open multi-microphone kits, own measurement).
const BRIGHTNESS_DB: f64 = 4.0;
/// How its first modes lie around 130 Hz varies less; a kick and a snare are 15 dB apart.
const DEPTH_DB: f64 = 3.0;
/// How close the spot is to a drum varies by 1 dB; a second drum struck in the same moment adds as much.
const CLOSENESS_DB: f64 = 2.0;
/// Sounds closer than this, in the units above, are one drum's.
const APART: f64 = 3.0;
/// First modes that lie around 130 Hz alike, give or take, are one drum's, struck on the head or on the rim.
const SAME_DRUM_DB: f64 = 6.0;
/// Drums that stand as close to the spot as the closest, give or take: the spot's own is one of them.
const AS_CLOSE_DB: f64 = 6.0;

/// What sorting needs besides the takes.
pub(crate) struct Sorting<'a> {
    /// Lays hits over each other.
    pub overlay: &'a mut Overlay,
    /// Where each channel's front may lie.
    pub looks: &'a Looks,
    /// The channel by which hits are laid over each other.
    pub reference: usize,
    /// Voices laid before, so that only what changed is laid again.
    pub known: &'a mut [Known; MAX_VOICES],
}

/// A voice that was laid over, by its takes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Known {
    pub signature: u64,
    pub pattern: Pattern,
}

/// A number that tells one set of takes from another: a mix of their orders (SplitMix64's, Steele, Lea & Flood 2014).
pub(crate) fn signature(takes: &[Take], voice: u8) -> u64 {
    let mix = |order: u64| {
        let z = (order ^ (order >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB)
    };
    let members = takes.iter().filter(|take| take.voice == voice);
    members.fold(0, |sum, take| sum.wrapping_add(mix(take.order)))
}

/// Sorts all takes, writes their `voice`, the spot's own first, and each voice's arrival pattern; returns how many
/// voices there are.
pub(crate) fn sort(
    takes: &mut [Take],
    mut by: Sorting<'_>,
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
    name(takes, of, count);
    by.lay_all(takes, &mut patterns[..count]);
    count
}

impl Sorting<'_> {
    fn lay_all(&mut self, takes: &mut [Take], patterns: &mut [Pattern]) {
        for (voice, pattern) in patterns.iter_mut().enumerate() {
            *pattern = self.lay(takes, voice as u8);
        }
    }

    /// Lays one voice's takes over each other and finds their common fronts.
    fn lay(&mut self, takes: &mut [Take], voice: u8) -> Pattern {
        let Some(first) = takes.iter().position(|take| take.voice == voice) else {
            return Pattern::default();
        };
        let signature = signature(takes, voice);
        let mut members = takes.iter().filter(|take| take.voice == voice);
        if let Some(known) = self.known.iter().find(|known| known.signature == signature)
            && members.all(|take| take.laid_as == signature)
        {
            return known.pattern;
        }
        let at = 0.5 * (self.looks[self.reference][0] + self.looks[self.reference][1]) as f64;
        for n in first..takes.len() {
            if takes[n].voice == voice {
                takes[n].shift = self
                    .overlay
                    .shift(&takes[first], &takes[n], self.reference, at);
            }
        }
        // The first take may be the odd one: shifts count from the middle.
        let mut shifts = [0.0; MAX_TAKES];
        let of_voice = takes.iter().filter(|take| take.voice == voice);
        let count = gather(of_voice.map(|take| take.shift), &mut shifts);
        let middle = median(&mut shifts[..count]).unwrap_or(0.0);
        for take in takes.iter_mut().filter(|take| take.voice == voice) {
            take.shift -= middle;
            take.laid_as = signature;
        }
        let members = takes.iter().filter(|take| take.voice == voice);
        let pattern = self.overlay.pattern(members, self.looks);
        self.known[usize::from(voice)] = Known { signature, pattern };
        pattern
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
    let depth = (one.depth_db - other.depth_db) / DEPTH_DB;
    brightness.hypot(closeness).hypot(depth)
}

/// The spot's own voice. Of the drums that stand closest to it, the one that is loudest to the ear is the spot's own:
/// a microphone is set up for its drum, and the kick is near every microphone only below the ear's best range. Of
/// that drum's voices (on the head, on the rim) the one with the most hits measures.
fn own(takes: &[Take], of: &[usize], count: usize) -> usize {
    let members = |voice: usize| {
        let of_voice = takes.iter().zip(of).filter(move |(_, of)| **of == voice);
        of_voice.map(|(take, _)| take)
    };
    let hits = |voice: usize| members(voice).count();
    let mean = |voice: usize, of: fn(&Take) -> f64| {
        members(voice).map(of).sum::<f64>() / hits(voice) as f64
    };
    let closeness = |voice: usize| mean(voice, |take| take.closeness_db);
    let loudness = |voice: usize| mean(voice, |take| take.loudness);
    let depth = |voice: usize| mean(voice, |take| take.depth_db);
    let closest = (0..count).map(closeness).fold(f64::MIN, f64::max);
    let near = || (0..count).filter(|voice| closeness(*voice) > closest - AS_CLOSE_DB);
    let loudest = near()
        .max_by(|a, b| loudness(*a).total_cmp(&loudness(*b)))
        .unwrap_or(0);
    let same_drum = |voice: &usize| (depth(*voice) - depth(loudest)).abs() < SAME_DRUM_DB;
    near()
        .filter(same_drum)
        .max_by_key(|voice| hits(*voice))
        .unwrap_or(loudest)
}
