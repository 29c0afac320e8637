//! Windows that end in another way than by being closed first, and what goes on beneath one that is open.

use super::{Host, in_both_formats, window};
use crate::hang::{abort_if_it_hangs, wait_until};
use crate::own_process::settled;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::thread::sleep;
use std::time::Duration;

/// Longer than a picture takes, so that one is drawn where nothing is left to draw on.
const A_WHILE: Duration = Duration::from_millis(300);

/// The host's window goes with the editor in it; then the editor is closed, or the instance ends.
fn the_window_goes_first<H: Host>() {
    for is_closed in [true, false, true, false] {
        let mut host = H::start(None);
        let first = window();
        host.open(&first);
        settled(&first);
        drop(first);
        for level in [-3.0, -6.0] {
            host.set_output(level);
            sleep(A_WHILE);
        }
        if is_closed {
            host.close();
            let second = window();
            host.open(&second);
            settled(&second);
            host.close();
        }
    }
}

/// A host that unwinds with an open window, drawn or not, the instance or the window first.
fn the_host_unwinds<H: Host>() {
    for case in 0..8 {
        let result = catch_unwind(AssertUnwindSafe(|| {
            let (is_drawn, window_first) = (case % 2 == 0, case % 4 < 2);
            let outer = (!window_first).then(window);
            let mut host = H::start(None);
            let inner = window_first.then(window);
            let window = outer.as_ref().or(inner.as_ref()).expect("one of the two");
            host.open(window);
            if is_drawn {
                settled(window);
            }
            std::panic::resume_unwind(Box::new("as a host does"));
        }));
        assert!(result.is_err());
    }
}

/// The audio stops and starts again beneath an open window, which goes on being drawn.
fn the_audio_restarts<H: Host>() {
    let window = window();
    let mut host = H::start(None);
    host.open(&window);
    let usual = settled(&window);
    for time in 0..10 {
        host.restart();
        host.set_output(f64::from(time % 2) - 3.0);
        host.serve(&window);
    }
    let pause = Duration::from_millis(10);
    let is_usual = || window.screenshot().expect("a picture") == usual;
    assert!(wait_until(pause, || !is_usual()), "nothing is shown");
    host.set_output(0.0);
    assert!(wait_until(pause, is_usual), "the picture is another one");
    host.close();
}

/// Opened and closed, drawn or at once, many times, and the last one left open: whenever the host has closed it, or the
/// instance has gone, nothing of it is left in the window.
fn opened_and_closed<H: Host>() {
    abort_if_it_hangs();
    let window = window();
    let nothing_is_left = |case: &str| {
        let left = window.children().expect("the window");
        assert_eq!(left, 0, "{case}");
    };
    for round in 0..5 {
        let mut host = H::start(None);
        for pause in [0, 1, 5, 20, 50].map(Duration::from_millis) {
            host.open(&window);
            host.set_output(-f64::from(round));
            sleep(pause);
            host.close();
            nothing_is_left(&format!("closed after {pause:?} in round {round}"));
        }
        host.open(&window);
        drop(host);
        nothing_is_left("its instance has gone");
    }
}

in_both_formats! { "shown::endings::";
    the_window_goes_first: clap_whose_window_goes_first, vst3_whose_window_goes_first;
    the_host_unwinds: clap_that_unwinds, vst3_that_unwinds;
    the_audio_restarts: clap_that_restarts_the_audio, vst3_that_restarts_the_audio;
    opened_and_closed: clap_opened_and_closed, vst3_opened_and_closed;
}
