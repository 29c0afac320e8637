//! A patient hand on a control of the window.

use crate::hang::HANG;
use plumbline_hosting::{Gesture, Window};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Where the output's number is in a window of the usual size, points.
pub const OUTPUT: (i16, i16) = (824, 27);
/// How far it is dragged up, points.
const DRAG: i16 = 40;

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

/// Drags the output up in a window of the usual size that lies at the top of the screen, and lets go: what the host heard,
/// of which it is given what is new. Every movement waits until it has been heard, for two within one picture are one.
pub fn drag_output(window: &Window, mut heard: impl FnMut() -> Vec<Gesture>) -> Vec<Gesture> {
    /// Movements on the way, and the points of each: more than three movements, and not beyond the screen's edge.
    const MOVEMENTS: (i16, i16) = (6, 4);
    /// A movement that is not heard by now has been seen with the press as one.
    const UNHEARD: Duration = Duration::from_secs(2);
    let mut all = Vec::new();
    let mut hear = |patience, is_it: fn(&Gesture) -> bool| {
        let begin = Instant::now();
        loop {
            let new = heard();
            let is_heard = new.iter().any(is_it);
            all.extend(new);
            if is_heard || begin.elapsed() > patience {
                return;
            }
            sleep(Duration::from_millis(10));
        }
    };
    window.hold(OUTPUT, OUTPUT).expect("a press");
    for movement in 1..=MOVEMENTS.0 {
        let up = movement * MOVEMENTS.1;
        window
            .point_at((OUTPUT.0, OUTPUT.1 - up))
            .expect("a movement");
        hear(UNHEARD, |said| matches!(said, Gesture::Value(..)));
    }
    window.let_go().expect("a hand");
    hear(HANG, |said| matches!(said, Gesture::End(_)));
    all
}
