//! Picks a drum by playing it: the next four strokes say which one it is.

use crate::exchange::{PICKING_HITS, PickedByPlaying};
use plumbline_dsp::measure::{Analyser, DrumChoice};
use plumbline_dsp::measurement::HitOutcome;

/// A request for the next four strokes.
#[derive(Clone, Copy, Debug)]
pub struct Playing {
    request: u32,
    /// Strokes from here on count, seconds of the analyser.
    from_s: f64,
    left: u8,
}

impl Playing {
    pub fn new(request: u32) -> Self {
        Self {
            request,
            from_s: 0.0,
            left: PICKING_HITS,
        }
    }

    /// Counts from now on; what has been picked already stays.
    pub fn begin(self, analyser: &mut Analyser) -> Self {
        if self.left == 0 {
            return self;
        }
        let from_s = analyser.heard_s();
        analyser.choose(DrumChoice::Strokes {
            from_s,
            to_s: f64::INFINITY,
        });
        Self {
            from_s,
            left: PICKING_HITS,
            ..self
        }
    }

    /// Counts what was heard; after the fourth stroke no other one decides.
    pub fn follow(&mut self, analyser: &mut Analyser) {
        if self.left == 0 {
            return;
        }
        let counted = |outcome| matches!(outcome, HitOutcome::Counted { .. });
        let hits = analyser.hits().iter();
        let mut own = hits.filter(|hit| hit.at_s >= self.from_s && counted(hit.outcome));
        let fourth = own.clone().nth(usize::from(PICKING_HITS) - 1).copied();
        let heard = own.by_ref().take(usize::from(PICKING_HITS)).count() as u8;
        self.left = PICKING_HITS - heard;
        if let Some(fourth) = fourth {
            analyser.choose(DrumChoice::Strokes {
                from_s: self.from_s,
                to_s: fourth.at_s,
            });
        }
    }

    /// For the window.
    pub fn state(&self) -> PickedByPlaying {
        PickedByPlaying {
            request: self.request,
            left: self.left,
        }
    }
}
