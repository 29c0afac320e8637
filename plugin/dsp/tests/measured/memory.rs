//! What the analyser takes from the heap: so much when it is made, nothing while it listens, at any rate.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;

use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup};

use crate::noise::Noise;

thread_local! {
    /// Bytes asked for on this thread, and how often.
    static TAKEN: Cell<(usize, usize)> = const { Cell::new((0, 0)) };
}

/// The system's heap, counted for each thread.
struct Counted;

#[global_allocator]
static HEAP: Counted = Counted;

// SAFETY: every call goes to the system's allocator unchanged; the counter is a plain number of the thread's own.
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        let _ = TAKEN.try_with(|taken| {
            let (bytes, times) = taken.get();
            taken.set((bytes + layout.size(), times + 1));
        });
        // SAFETY: as promised by the caller.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        // SAFETY: as promised by the caller.
        unsafe { System.dealloc(pointer, layout) }
    }
}

/// Bytes asked for on this thread so far, and how often.
pub fn taken() -> (usize, usize) {
    TAKEN.get()
}

/// Strokes of a head under noise that fall away, five a second; no two are alike.
pub fn groove(rate: f64, seconds: f64) -> Vec<f32> {
    let mut noise = Noise::new(3);
    let every = 0.2 * rate;
    let stroke = |n: usize| 0.2 * (-(n as f64 % every) / (0.02 * rate)).exp() + 1e-5;
    let head = |n: usize| (std::f64::consts::TAU * 190.0 * (n as f64 % every) / rate).sin();
    (0..(seconds * rate) as usize)
        .map(|n| (stroke(n) * (head(n) + noise.normal())).clamp(-0.9, 0.9) as f32)
        .collect()
}

/// The whole plugin may take 6 MiB at 48 kHz; the analyser is the largest part of it.
const MOST_BYTES: usize = 5 << 20;

#[test]
fn listening_never_allocates() {
    for rate in [8_000.0, 48_000.0, 96_000.0, 768_000.0] {
        let setup = AnalyserSetup {
            sample_rate: rate,
            inputs: Inputs::PairAndSpot,
        };
        let audio = groove(rate, 12.0);
        let start = TAKEN.get();
        let mut analyser = Analyser::new(setup);
        let made = TAKEN.get();
        // 12 s, of which no bar is played twice: more hits than one fit takes.
        for block in audio.chunks(1_000) {
            analyser.push(block, block, block);
        }
        let listened = TAKEN.get();
        let kib = (made.0 - start.0) / 1024;
        println!(
            "{rate} Hz: {kib} KiB at creation, {} allocations while listening, {} hits",
            listened.1 - made.1,
            analyser.measurement().hits
        );
        assert!(analyser.measurement().hits > 48, "{rate} Hz");
        assert_eq!(listened, made, "{rate} Hz");
        assert!(made.0 - start.0 <= MOST_BYTES, "{rate} Hz: {kib} KiB");
    }
}
