//! Strokes that stand alone beside a drum of their own kind: that drum played another way, and no row of its own.

use crate::measure::drums::choice::Candidate;
use crate::measure::drums::kit::KitDrum;
use crate::measure::drums::naming::likeliest;
use crate::measurement::MAX_DRUMS;

/// A drum of so many strokes is there: what is struck in a fill alone may be another of its kind.
const THERE: u32 = 4;

/// Leaves out each drum of one stroke that is named as one with [`THERE`] and more, unless it was chosen; how many are left.
pub(crate) fn leave_out(
    drums: &mut [Option<KitDrum>; MAX_DRUMS],
    listed: &mut [Candidate; MAX_DRUMS],
    count: usize,
) -> usize {
    let kinds = listed.map(|drum| likeliest(&drum.probabilities));
    let hits = drums.map(|drum| drum.map_or(0, |drum| drum.hits));
    let there = |kind| (0..count).any(|n| kinds[n] == kind && hits[n] >= THERE);
    let mut left = 0;
    for n in 0..count {
        if hits[n] > 1 || listed[n].current || !there(kinds[n]) {
            drums.swap(left, n);
            listed.swap(left, n);
            left += 1;
        }
    }
    drums[left..].fill(None);
    left
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::drums::naming::Features;
    use crate::measurement::KINDS;

    fn drum(number: u8, hits: u32) -> Option<KitDrum> {
        Some(KitDrum {
            number,
            hits,
            features: Features::default(),
            slots: 0,
        })
    }

    /// Kick, snare, two single kicks of which one was chosen, and a tom struck once.
    #[test]
    fn a_single_stroke_has_a_row_where_its_kind_has_none() {
        let mut drums = [None; MAX_DRUMS];
        let mut listed = [Candidate::nothing(); MAX_DRUMS];
        let kit = [(9, 1), (8, 0), (1, 1), (1, 1), (1, 2)];
        for (n, (hits, kind)) in kit.into_iter().enumerate() {
            drums[n] = drum(n as u8, hits);
            listed[n].probabilities[kind] = 1.0;
        }
        assert_eq!(KINDS.len(), listed[0].probabilities.len());
        listed[3].current = true;
        let left = leave_out(&mut drums, &mut listed, kit.len());
        let numbers: Vec<u8> = drums.iter().flatten().map(|drum| drum.number).collect();
        assert_eq!((left, numbers), (4, vec![0, 1, 3, 4]));
    }
}
