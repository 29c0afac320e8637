//! A patient hand on a control of the window.

use crate::hang::HANG;
use plumbline_hosting::Window;
use std::time::{Duration, Instant};

/// Where the output's number is in a window of the usual size, points.
pub const OUTPUT: (i16, i16) = (824, 27);
/// How far it is dragged up, points.
pub const DRAG: i16 = 40;

/// Drags the output in a window at this scale and goes on holding it once `is_held`, which lets the time go by that it is
/// given. Press, way and release within one picture are no drag, so that it is held longer every time: a large picture takes
/// its time on a busy machine.
pub fn take_hold(window: &Window, scale: f64, mut is_held: impl FnMut(Duration) -> bool) {
    let pixels = |points: i16| (f64::from(points) * scale) as i16;
    let (x, y) = OUTPUT;
    let (from, to) = ((pixels(x), pixels(y)), (pixels(x), pixels(y - DRAG)));
    let (begin, mut held) = (Instant::now(), Duration::from_millis(100));
    loop {
        window.hold(from, to).expect("a drag");
        if is_held(held) {
            return;
        }
        window.let_go().expect("a hand");
        is_held(held);
        assert!(
            begin.elapsed() < HANG,
            "at a scale of {scale} the hand is not where it is seen"
        );
        held *= 2;
    }
}
