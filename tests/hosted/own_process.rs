//! A process and a virtual screen for one test that looks at the window.

use crate::alone::{is_own_process, run};
use crate::hang::{HANG, wait_until};
use crate::this_process::resources;
use plumbline_hosting::{Screen, Screenshot, Window};
use std::thread::sleep;
use std::time::{Duration, Instant};

/// Runs a test, named as cargo names it, alone in a new process with a screen.
pub fn in_own_process(name: &str, test: impl FnOnce()) {
    if is_own_process() {
        return test();
    }
    let Some(screen) = Screen::start().expect("a screen") else {
        println!("skipped: no Xvfb");
        return;
    };
    // glibc gives new threads heaps of their own and keeps them: what one window leaves is seen on one heap.
    run(name, |command| {
        command
            .env("DISPLAY", screen.display())
            .env("MALLOC_ARENA_MAX", "1");
    });
}

/// How often a window is opened between two looks at the memory.
pub const OPENINGS_COUNTED: usize = 25;
/// Looks at the memory, unless `PLUMBLINE_WINDOW_LOOKS` says another number.
const LOOKS: usize = 4;
/// What may be added in the second half beside what the toolkit leaves: pages that are held in part. Measured: up to
/// 900. A pixel buffer that stayed every time would be 3 MB an opening.
const GROWTH_KIB: usize = 6_000;

/// Memory of this process, KiB.
pub fn memory_kib() -> usize {
    let status = std::fs::read_to_string("/proc/self/status").expect("this process");
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let words = line.expect("its memory").trim().split(' ').next();
    words.and_then(|word| word.parse().ok()).expect("a number")
}

/// The same when no more than these threads are left, and the allocator has given back what it keeps. A window is drawn by
/// threads that end a while after it is closed, and hold its pixels until then: 34 MB. Those that stay count.
pub fn memory_at_rest_kib(threads: usize) -> usize {
    wait_until(Duration::from_millis(10), || resources()[0] <= threads);
    // SAFETY: plain data.
    unsafe { libc::malloc_trim(0) };
    memory_kib()
}

/// Opens windows, [`OPENINGS_COUNTED`] of each kind at a time; the memory after each time, KiB. Judged by
/// [`assert_levels_off`] when nothing plays any more: a panic before would wait for the audio thread.
pub fn memory_over(mut open: impl FnMut()) -> Vec<usize> {
    let looks = std::env::var("PLUMBLINE_WINDOW_LOOKS").ok();
    let looks: usize = looks.map_or(LOOKS, |text| text.parse().expect("a number"));
    let [threads, _] = resources();
    let look = |_| {
        open();
        memory_at_rest_kib(threads)
    };
    (0..looks).map(look).collect()
}

/// What the window toolkit leaves of each window on Linux, KiB: it never lets go of the keyboard's layout (see
/// docs/decisions.md). Measured: 74 to 80.
const KEYBOARD_LAYOUT_KIB: usize = 90;

/// Of two openings each time: the memory of the second half of the looks must not grow by more than the toolkit leaves.
pub fn assert_levels_off(what: &str, memory: &[usize]) {
    let looks = memory.len();
    println!("{what}: memory after every {OPENINGS_COUNTED} openings, KiB: {memory:?}");
    let added = memory[looks - 1].saturating_sub(memory[looks / 2]);
    let openings = 2 * OPENINGS_COUNTED * (looks - 1 - looks / 2);
    let most = GROWTH_KIB + openings * KEYBOARD_LAYOUT_KIB;
    assert!(added < most, "{added} KiB in the second half");
}

/// Waits until the window stays as it is for a quarter of a second, and says what it shows.
pub fn settled(window: &Window) -> Screenshot {
    let begin = Instant::now();
    let mut last = window.screenshot().expect("a picture");
    let mut since = Instant::now();
    while since.elapsed() < Duration::from_millis(250) || !last.is_drawn() {
        assert!(begin.elapsed() < HANG, "it never rests");
        sleep(Duration::from_millis(10));
        let now = window.screenshot().expect("a picture");
        if now != last {
            (last, since) = (now, Instant::now());
        }
    }
    last
}
