//! Sorts strokes into drums by the waveform of their bodies: average linkage, and numbers that last.

use crate::math::shifted_dot::shifted_dot;
use crate::measure::hit::stroke::Stroke;
use crate::measure::hit::window::{MOST_STROKES, Window};

/// Two groups are one drum when their strokes' waveforms correlate so much on average: strokes of one drum do by 0.9,
/// in rooms and under cymbals by less (own measurement).
const ONE_DRUM: f32 = 0.7;
/// The finder places strokes to within this much of each other.
const MISPLACED_S: f64 = 0.006;

/// A square table over the slots.
type Table = Box<[[f32; MOST_STROKES]]>;

/// Which drum each kept stroke was played on; a drum's number stays with most of its strokes.
#[derive(Debug)]
pub(crate) struct Sorting {
    lags: usize,
    /// Correlation of every two kept strokes, by slot.
    alike: Table,
    /// Sums of it between the clusters being linked.
    linked: Table,
    /// Number of the drum of each slot.
    group: [Option<u8>; MOST_STROKES],
}

impl Sorting {
    pub(crate) fn new(window: &Window) -> Self {
        let table = || vec![[0.0; MOST_STROKES]; MOST_STROKES].into();
        Self {
            lags: (MISPLACED_S * window.body_rate()) as usize,
            alike: table(),
            linked: table(),
            group: [None; MOST_STROKES],
        }
    }

    pub(crate) fn clear(&mut self) {
        self.group = [None; MOST_STROKES];
    }

    pub(crate) fn group(&self, slot: usize) -> Option<u8> {
        self.group[slot]
    }

    pub(crate) fn alike(&self, slot: usize, other: usize) -> f32 {
        self.alike[slot][other]
    }

    pub(crate) fn remove(&mut self, slot: usize) {
        self.group[slot] = None;
    }

    /// Slots of a drum.
    pub(crate) fn slots(&self, group: u8) -> impl Iterator<Item = usize> + Clone + '_ {
        let mine =
            move |(slot, found): (usize, &Option<u8>)| (*found == Some(group)).then_some(slot);
        self.group.iter().enumerate().filter_map(mine)
    }

    /// Sorts the stroke in `slot` among the others.
    pub(crate) fn add(&mut self, strokes: &[Stroke], slot: usize) {
        for other in 0..strokes.len() {
            if self.group[other].is_some() || other == slot {
                let alike = alike(&strokes[slot], &strokes[other], self.lags);
                self.alike[slot][other] = alike;
                self.alike[other][slot] = alike;
            }
        }
        let taken = |group: u8| self.group.contains(&Some(group));
        self.group[slot] = (0..=u8::MAX).find(|group| !taken(*group));
        self.link();
    }

    /// Average linkage from single strokes on (Sokal & Michener 1958); the clusters keep the numbers of most of their strokes.
    fn link(&mut self) {
        let mut cluster: [Option<u8>; MOST_STROKES] = [None; MOST_STROKES];
        let mut count = [0u16; MOST_STROKES];
        for slot in (0..MOST_STROKES).filter(|slot| self.group[*slot].is_some()) {
            cluster[slot] = Some(slot as u8);
            count[slot] = 1;
            self.linked[slot] = self.alike[slot];
        }
        while let Some((kept, merged)) = closest(&self.linked, &count) {
            for other in 0..MOST_STROKES {
                let sum = self.linked[kept][other] + self.linked[merged][other];
                self.linked[kept][other] = sum;
                self.linked[other][kept] = sum;
            }
            count[kept] += std::mem::take(&mut count[merged]);
            let mine = |cluster: &&mut Option<u8>| **cluster == Some(merged as u8);
            cluster
                .iter_mut()
                .filter(mine)
                .for_each(|c| *c = Some(kept as u8));
        }
        self.number(&cluster);
    }

    /// Gives each cluster the number that most of its strokes had; where two claim one, the larger part keeps it.
    fn number(&mut self, cluster: &[Option<u8>; MOST_STROKES]) {
        let before = self.group;
        let mut claimed = [false; 256];
        let mut named = [false; MOST_STROKES];
        while let Some((id, number)) = largest_claim(cluster, &before, &named, &claimed) {
            claimed[usize::from(number)] = true;
            named[usize::from(id)] = true;
            self.rename(cluster, id, number);
        }
        for slot in 0..MOST_STROKES {
            if let Some(id) = cluster[slot]
                && !named[usize::from(id)]
            {
                let free = (0..=u8::MAX).find(|number| !claimed[usize::from(*number)]);
                let number = free.unwrap_or(u8::MAX);
                claimed[usize::from(number)] = true;
                named[usize::from(id)] = true;
                self.rename(cluster, id, number);
            }
        }
    }

    fn rename(&mut self, cluster: &[Option<u8>; MOST_STROKES], id: u8, number: u8) {
        for (group, cluster) in self.group.iter_mut().zip(cluster) {
            if *cluster == Some(id) {
                *group = Some(number);
            }
        }
    }
}

/// The two clusters most alike, if they are one drum.
fn closest(linked: &[[f32; MOST_STROKES]], count: &[u16; MOST_STROKES]) -> Option<(usize, usize)> {
    let mut best = (ONE_DRUM, None);
    for a in (0..MOST_STROKES).filter(|a| count[*a] > 0) {
        for b in (a + 1..MOST_STROKES).filter(|b| count[*b] > 0) {
            let mean = linked[a][b] / f32::from(count[a] * count[b]);
            if mean >= best.0 {
                best = (mean, Some((a, b)));
            }
        }
    }
    best.1
}

/// The cluster and the former number that share most strokes, among those not yet given.
fn largest_claim(
    cluster: &[Option<u8>; MOST_STROKES],
    before: &[Option<u8>; MOST_STROKES],
    named: &[bool; MOST_STROKES],
    claimed: &[bool; 256],
) -> Option<(u8, u8)> {
    let mut best = (0, None);
    for slot in 0..MOST_STROKES {
        let (Some(id), Some(number)) = (cluster[slot], before[slot]) else {
            continue;
        };
        if named[usize::from(id)] || claimed[usize::from(number)] {
            continue;
        }
        let shared = cluster
            .iter()
            .zip(before)
            .filter(|both| *both == (&Some(id), &Some(number)))
            .count();
        if shared > best.0 {
            best = (shared, Some((id, number)));
        }
    }
    best.1
}

/// The highest correlation of both channels' waveforms at one common lag, between the lags by a parabola.
fn alike(a: &Stroke, b: &Stroke, lags: usize) -> f32 {
    let at = |lag: isize| -> f32 {
        let channels = a.shape.iter().zip(&b.shape);
        channels.map(|(a, b)| shifted_dot(a, b, lag)).sum()
    };
    let lags = lags as isize;
    let mut best = (f32::NEG_INFINITY, 0);
    for lag in -lags..=lags {
        let value = at(lag);
        if value > best.0 {
            best = (value, lag);
        }
    }
    let (top, lag) = best;
    let (before, after) = (at(lag - 1), at(lag + 1));
    let bend = before - 2.0 * top + after;
    let part = if bend < 0.0 {
        (0.5 * (before - after) / bend).clamp(-0.5, 0.5)
    } else {
        0.0
    };
    (top - 0.25 * (before - after) * part).min(1.0)
}
