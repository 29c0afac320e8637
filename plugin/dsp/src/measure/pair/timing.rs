//! When each stroke of a drum fell in its own window, and how loud it is against the others.

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
