//! Lengths around a stroke in samples of the working rate.

/// Heard before a stroke, for what its bands held before it.
const HEARD_BEFORE_S: f64 = 0.040;
/// Heard and kept after it: 40 ms of body.
const AFTER_S: f64 = 0.042;
/// Kept before it: 8 ms of fit, 6 of misplaced find, 6 in which the filters settle.
const KEPT_BEFORE_S: f64 = 0.020;
/// Rate that the body is kept at, Hz: the body's own waveform and the lowest of the attack.
const BODY_RATE_HZ: f64 = 6_000.0;
/// Audio kept for all strokes together, bytes: 64 strokes of three channels at 48 kHz.
const KEPT_BYTES: f64 = 2.3e6;
/// Most strokes kept, whatever the rate: eight bars of kick and snare.
pub(crate) const MOST_STROKES: usize = 64;

/// Fixed with the working rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Window {
    /// Working samples a second.
    pub rate: f64,
    pub heard_before: usize,
    pub kept_before: usize,
    pub after: usize,
    /// Working samples in one of the body's.
    pub step: usize,
    /// Strokes that there is room for.
    pub strokes: usize,
}

impl Window {
    pub(crate) fn new(rate: f64) -> Self {
        let step = ((rate / BODY_RATE_HZ).round() as usize).max(1);
        let whole = |seconds: f64| (seconds * rate / step as f64).round() as usize * step;
        let kept = (whole(KEPT_BEFORE_S) + whole(AFTER_S)) as f64;
        let room = KEPT_BYTES / (kept * 3.0 * 4.0);
        Self {
            rate,
            heard_before: whole(HEARD_BEFORE_S),
            kept_before: whole(KEPT_BEFORE_S),
            after: whole(AFTER_S),
            step,
            strokes: (room as usize).min(MOST_STROKES),
        }
    }

    pub(crate) fn heard(&self) -> usize {
        self.heard_before + self.after
    }

    pub(crate) fn kept(&self) -> usize {
        self.kept_before + self.after
    }

    /// Body samples of one stroke and channel.
    pub(crate) fn body(&self) -> usize {
        self.kept() / self.step
    }

    pub(crate) fn body_rate(&self) -> f64 {
        self.rate / self.step as f64
    }

    /// Seconds in whole working samples.
    pub(crate) fn samples(&self, seconds: f64) -> usize {
        (seconds * self.rate).round() as usize
    }
}
