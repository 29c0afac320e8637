//! When each stroke of a drum fell in its own window, and how loud it is against the others.

use crate::channels::CHANNELS;
use crate::measure::hit::stroke::Stroke;

/// Most strokes in one fit: beyond these a fit gains less than a tenth.
pub(crate) const MOST_FIT: usize = 24;

/// One fit's strokes in their order.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Timing {
    pub count: usize,
    /// Working samples from the window's start.
    pub at: [f64; MOST_FIT],
    /// Against the loud ones.
    pub gain: [f32; MOST_FIT],
    /// How well the body fits, 1 for the middle one.
    pub fit: [f32; MOST_FIT],
}

impl Timing {
    pub(crate) fn new(count: usize) -> Self {
        Self {
            count,
            at: [0.0; MOST_FIT],
            gain: [1.0; MOST_FIT],
            fit: [1.0; MOST_FIT],
        }
    }
}

/// How much later each channel begins than the strokes' own time, working samples: the middle of what the finder saw.
pub(crate) fn later(strokes: &[&Stroke]) -> [isize; CHANNELS] {
    let mut seen = [0; MOST_FIT];
    let mut count = 0;
    for later in strokes.iter().filter_map(|stroke| stroke.spot_later) {
        seen[count] = later;
        count += 1;
    }
    let seen = &mut seen[..count];
    seen.sort_unstable();
    let middle = seen.get(count / 2).copied().unwrap_or(0);
    [0, 0, middle as isize]
}
