//! The log of the last hits, and what became of each.

use crate::measure::drums::kit::Kit;
use crate::measure::drums::lags::Lags;
use crate::measurement::{Hit, HitOutcome};

/// Hits kept for the log.
const LOG: usize = 64;

/// Where the stroke of a hit lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct KeptHit {
    pub slot: usize,
    /// The slot's stroke is this hit's while it has this order.
    pub order: u64,
}

/// The last hits, oldest first. `new` allocates.
pub(crate) struct HitLog {
    hits: Vec<Hit>,
    /// Of each hit; `None` where it was refused.
    kept: Vec<Option<KeptHit>>,
}

impl HitLog {
    pub(crate) fn new() -> Self {
        Self {
            hits: Vec::with_capacity(LOG),
            kept: Vec::with_capacity(LOG),
        }
    }

    pub(crate) fn clear(&mut self) {
        self.hits.clear();
        self.kept.clear();
    }

    pub(crate) fn hits(&self) -> &[Hit] {
        &self.hits
    }

    /// The oldest goes when there is no room.
    pub(crate) fn push(&mut self, hit: Hit, kept: Option<KeptHit>) {
        if self.hits.len() == LOG {
            self.hits.remove(0);
            self.kept.remove(0);
        }
        self.hits.push(hit);
        self.kept.push(kept);
    }

    /// Sorting may have changed a hit's drum, and a fit its gap: written anew from what is kept.
    pub(crate) fn follow(&mut self, kit: &Kit, lags: &Lags) {
        for (hit, kept) in self.hits.iter_mut().zip(&self.kept) {
            let Some(kept) = kept else { continue };
            if kit.stroke(kept.slot).order == kept.order
                && let Some(drum) = kit.drum_of(kept.slot)
            {
                let gap_s = lags.hit_gap_s(kept.slot);
                hit.outcome = HitOutcome::Counted { drum, gap_s };
            }
        }
    }
}
