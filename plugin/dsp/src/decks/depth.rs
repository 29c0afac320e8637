//! How much of the comb is heard: as much as the pass wants, and no faster than a cross-fade.

use crate::math::ramp::{GLIDE_S, toward};

/// From 0 to 1, sample by sample.
#[derive(Clone, Debug)]
pub struct Depth {
    /// `None`: the next one counts at once.
    now: Option<f64>,
    /// Most that it changes in one sample.
    step: f64,
}

impl Depth {
    /// The first one counts at once.
    pub fn new(sample_rate: f64) -> Self {
        Self {
            now: None,
            step: 1.0 / (GLIDE_S * sample_rate),
        }
    }

    /// The next one counts at once.
    pub fn reset(&mut self) {
        self.now = None;
    }

    /// All of the comb is heard and stays so, where nothing eases it.
    pub fn rests_whole(&mut self, eased: bool) -> bool {
        let rests = !eased && self.now.is_none_or(|depth| depth == 1.0);
        if rests {
            self.now = Some(1.0);
        }
        rests
    }

    /// Follows what is wanted.
    pub fn follow(&mut self, wanted: &[f64], depths: &mut [f32]) {
        for (out, &wanted) in depths.iter_mut().zip(wanted) {
            let depth = self
                .now
                .map_or(wanted, |now| toward(now, wanted, self.step));
            self.now = Some(depth);
            *out = depth as f32;
        }
    }
}
