//! Candidates for a channel's first front in a stack: where its power rises most over what was before.

/// Most candidates of one channel.
pub(crate) const MOST_ONSETS: usize = 9;
/// The power after a front is taken over this long: a front's own rise.
const AFTER_S: f64 = 0.0003;
/// The power before it is the largest of these, seconds: a front stands out of all that came before.
const BEFORE_S: [f64; 3] = [0.0004, 0.0012, 0.003];
/// A front is at least this high: log of the power ratio (3.5 dB).
const LEAST: f32 = 0.8;
/// Its power is at least this part of the strongest: -24 dB.
const FAINTEST: f32 = 0.004;
/// Two fronts are at least this far apart.
const APART_S: f64 = 0.000_14;
/// An arrival is surely one when its power is five times its variance, and surely none below twice.
const SURE: (f32, f32) = (2.0, 5.0);

/// One candidate.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Onset {
    /// Sample of the stack.
    pub at: usize,
    /// Log of the power after over the largest before.
    pub height: f32,
    /// How surely something else arrived before it, 0 to 1.
    pub preceded: f32,
    /// Power over the stack's variance.
    pub clear: f32,
}

/// The stack of one channel, and where to look.
#[derive(Clone, Copy)]
pub(crate) struct Heard<'a> {
    pub rate: f64,
    pub template: &'a [f32],
    pub variance: &'a [f32],
    pub from: usize,
    pub to: usize,
    /// Mean variance around the strokes' time.
    pub noise: f32,
}

/// The highest candidates, highest first; `sums` is scratch of two stacks and three.
pub(crate) fn onsets(
    heard: Heard<'_>,
    sums: &mut [f64],
    heights: &mut [f32],
) -> ([Onset; MOST_ONSETS], usize) {
    let length = heard.template.len();
    let (power, clear) = sums.split_at_mut(length + 1);
    sum_up(heard, power, clear);
    let samples = |seconds: f64| ((seconds * heard.rate) as usize).max(1);
    let after = samples(AFTER_S);
    let mean = |sums: &[f64], from: usize, to: usize| {
        ((sums[to] - sums[from]) / (to - from) as f64) as f32
    };
    let later = |at: usize| mean(power, at, (at + after).min(length));
    let strongest = (heard.from..heard.to).map(later).fold(0.0, f32::max);
    for (at, out) in heights
        .iter_mut()
        .enumerate()
        .take(heard.to)
        .skip(heard.from)
    {
        let before = BEFORE_S
            .iter()
            .map(|s| mean(power, at.saturating_sub(samples(*s)), at))
            .fold(0.0, f32::max);
        let small = 1e-3 * strongest;
        let height = ((later(at) + small) / (before + small + heard.noise)).ln();
        *out = if later(at) > FAINTEST * strongest {
            height
        } else {
            f32::NEG_INFINITY
        };
    }
    let mut found = [Onset::default(); MOST_ONSETS];
    let mut count = 0;
    let apart = samples(APART_S);
    for at in heard.from..heard.to {
        if heights[at] > LEAST && peak(heights, at, apart, heard.from..heard.to) {
            let clear = mean(clear, at, (at + after).min(length));
            let onset = Onset {
                at,
                height: heights[at],
                preceded: 0.0,
                clear,
            };
            insert(&mut found, &mut count, onset);
        }
    }
    mark_preceded(&mut found[..count], after);
    (found, count)
}

fn sum_up(heard: Heard<'_>, power: &mut [f64], clear: &mut [f64]) {
    let h = heard.template;
    let square = |n: usize| h.get(n).map_or(0.0, |x| f64::from(*x).powi(2));
    for n in 0..h.len() {
        let before = if n > 0 { square(n - 1) } else { 0.0 };
        let smoothed = 0.5 * square(n) + 0.25 * (before + square(n + 1));
        power[n + 1] = power[n] + smoothed;
        clear[n + 1] = clear[n] + square(n) / f64::from(heard.variance[n]).max(1e-30);
    }
}

/// Is nothing within `apart` samples higher?
fn peak(heights: &[f32], at: usize, apart: usize, inside: std::ops::Range<usize>) -> bool {
    let from = at.saturating_sub(apart).max(inside.start);
    let to = (at + apart + 1).min(inside.end);
    heights[from..at].iter().all(|h| *h < heights[at])
        && heights[at..to].iter().all(|h| *h <= heights[at])
}

/// Keeps the highest, in falling order.
fn insert(found: &mut [Onset; MOST_ONSETS], count: &mut usize, onset: Onset) {
    let place = found[..*count]
        .iter()
        .position(|other| other.height < onset.height);
    let place = place.unwrap_or(*count);
    if place < MOST_ONSETS {
        *count = (*count + 1).min(MOST_ONSETS);
        found[place..*count].rotate_right(1);
        found[place] = onset;
    }
}

fn mark_preceded(found: &mut [Onset], after: usize) {
    for n in 0..found.len() {
        let at = found[n].at;
        let earlier = found.iter().filter(|other| other.at + after < at);
        let real = |onset: &Onset| {
            ((onset.clear - SURE.0) / (SURE.1 - SURE.0)).clamp(0.0, 1.0)
                * (onset.height - LEAST).clamp(0.0, 1.0)
        };
        found[n].preceded = earlier.map(real).fold(0.0, f32::max);
    }
}

/// Mean of a stack's variance around a place.
pub(crate) fn noise_around(variance: &[f32], at: usize, reach: usize) -> f32 {
    let around = &variance[at - reach..at + reach];
    around.iter().sum::<f32>() / around.len() as f32
}
