//! Sorts strokes into drums by the waveform of their bodies: average linkage that goes on from what was sorted before.

use super::stroke::Stroke;
use super::window::{MOST_STROKES, Window};

/// Two groups are one drum when their strokes' waveforms correlate so much on average: strokes of one drum do by 0.9,
/// in rooms and under cymbals by less (reference L.2).
const ONE_DRUM: f32 = 0.7;
/// The finder places strokes to within this much of each other.
const MISPLACED_S: f64 = 0.006;

/// Which drum each kept stroke was played on; a drum's number stays as long as it has strokes or is remembered.
#[derive(Debug)]
pub(crate) struct Sorting {
    lags: usize,
    /// Correlation of every two kept strokes, by slot.
    alike: Box<[[f32; MOST_STROKES]; MOST_STROKES]>,
    /// Group of each slot.
    group: [Option<u8>; MOST_STROKES],
}

impl Sorting {
    pub(crate) fn new(window: &Window) -> Self {
        Self {
            lags: (MISPLACED_S * window.body_rate()) as usize,
            alike: vec![[0.0; MOST_STROKES]; MOST_STROKES]
                .into_boxed_slice()
                .try_into()
                .expect("a square made as one"),
            group: [None; MOST_STROKES],
        }
    }

    pub(crate) fn clear(&mut self) {
        self.group = [None; MOST_STROKES];
    }

    pub(crate) fn group(&self, slot: usize) -> Option<u8> {
        self.group[slot]
    }

    pub(crate) fn remove(&mut self, slot: usize) {
        self.group[slot] = None;
    }

    /// Sorts the stroke in `slot` among the others: it begins as a group of its own named `fresh`.
    pub(crate) fn add(&mut self, strokes: &[Stroke], slot: usize, fresh: u8) {
        for other in 0..strokes.len() {
            let alike = alike(&strokes[slot], &strokes[other], self.lags);
            self.alike[slot][other] = alike;
            self.alike[other][slot] = alike;
        }
        self.group[slot] = Some(fresh);
        while let Some((kept, merged)) = self.closest() {
            for group in self.group.iter_mut().filter(|group| **group == Some(merged)) {
                *group = Some(kept);
            }
        }
    }

    /// The two groups most alike, the older first, if they are one drum.
    fn closest(&self) -> Option<(u8, u8)> {
        const GROUPS: usize = 256;
        let mut count = [0u16; GROUPS];
        for group in self.group.iter().flatten() {
            count[usize::from(*group)] += 1;
        }
        let mut best = (ONE_DRUM, None);
        for a in (0..GROUPS).filter(|a| count[*a] > 0) {
            let mut sums = [0.0f32; GROUPS];
            for slot in self.slots(a as u8) {
                for (other, group) in self.group.iter().enumerate() {
                    if let Some(group) = group {
                        sums[usize::from(*group)] += self.alike[slot][other];
                    }
                }
            }
            for b in (a + 1..GROUPS).filter(|b| count[*b] > 0) {
                let mean = sums[b] / f32::from(count[a] * count[b]);
                if mean >= best.0 {
                    best = (mean, Some((a as u8, b as u8)));
                }
            }
        }
        best.1
    }

    /// Slots of a group.
    pub(crate) fn slots(&self, group: u8) -> impl Iterator<Item = usize> + Clone + '_ {
        let mine = move |(slot, found): (usize, &Option<u8>)| (*found == Some(group)).then_some(slot);
        self.group.iter().enumerate().filter_map(mine)
    }
}

/// The highest correlation of both channels' waveforms at one common lag, each channel counting alike.
fn alike(a: &Stroke, b: &Stroke, lags: usize) -> f32 {
    let heard = |stroke: &Stroke, channel: usize| stroke.shape[channel].iter().any(|x| *x != 0.0);
    let both = [0, 1].map(|channel| heard(a, channel) && heard(b, channel));
    let count = both.iter().filter(|both| **both).count();
    if count == 0 {
        return 0.0;
    }
    let at = |lag: isize| -> f32 {
        (0..2)
            .filter(|channel| both[*channel])
            .map(|channel| shifted_dot(&a.shape[channel], &b.shape[channel], lag))
            .sum()
    };
    let lags = lags as isize;
    let highest = (-lags..=lags).map(at).fold(-1.0, f32::max);
    highest / count as f32
}

/// Sum of `a[n] b[n + lag]`.
pub(crate) fn shifted_dot(a: &[f32], b: &[f32], lag: isize) -> f32 {
    let (a, b) = if lag >= 0 {
        (a, &b[(lag as usize).min(b.len())..])
    } else {
        (&a[(-lag as usize).min(a.len())..], b)
    };
    let length = a.len().min(b.len());
    let mut sums = [0.0f32; 8];
    let (a, b) = (&a[..length], &b[..length]);
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for (sum, (x, y)) in sums.iter_mut().zip(x.iter().zip(y)) {
            *sum += x * y;
        }
    }
    let rest = length - length % 8;
    let tail: f32 = a[rest..].iter().zip(&b[rest..]).map(|(x, y)| x * y).sum();
    sums.iter().sum::<f32>() + tail
}
