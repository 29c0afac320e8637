//! The analysis thread: empties the capture ring, draws for the editor, and does the background job of the audio path.

use super::measuring::Analysis;
use crate::exchange::CaptureReader;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How often the thread looks for audio: a fifth of the 50 ms in which a hit must be answered.
const POLL: Duration = Duration::from_millis(10);

/// How often it looks while nothing is measured: a tenth of what the capture ring holds.
const IDLE_POLL: Duration = Duration::from_millis(50);

/// The thread runs FFTs over a few thousand points on buffers of the heap: little stack.
const STACK_BYTES: usize = 512 * 1024;

/// The plugin's own thread: the analysis at work, and a background job beside it.
pub struct AnalysisThread {
    stop: Arc<AtomicBool>,
    handle: Option<JoinHandle<Analysis>>,
}

impl AnalysisThread {
    /// Starts to measure what the ring brings, and calls `background` once a round. Fails when the system has no
    /// thread to give.
    pub fn spawn(
        analysis: Analysis,
        reader: CaptureReader,
        background: impl FnMut() + Send + 'static,
    ) -> io::Result<Self> {
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let handle = thread::Builder::new()
            .name("plumbline analysis".into())
            .stack_size(STACK_BYTES)
            .spawn(move || run(analysis, reader, background, &stopped))?;
        let handle = Some(handle);
        Ok(Self { stop, handle })
    }

    /// Stops and gives the analysis back, with everything that it has measured.
    pub fn finish(mut self) -> Option<Analysis> {
        self.join()
    }

    fn join(&mut self) -> Option<Analysis> {
        let handle = self.handle.take()?;
        self.stop.store(true, Relaxed);
        handle.thread().unpark();
        handle.join().ok()
    }
}

impl Drop for AnalysisThread {
    fn drop(&mut self) {
        self.join();
    }
}

fn run(
    mut analysis: Analysis,
    mut reader: CaptureReader,
    mut background: impl FnMut(),
    stop: &AtomicBool,
) -> Analysis {
    while !stop.load(Relaxed) {
        background();
        reader.read_all(|event| analysis.take(event));
        analysis.draw();
        thread::park_timeout(match analysis.is_measuring() {
            true => POLL,
            false => IDLE_POLL,
        });
    }
    reader.read_all(|event| analysis.take(event));
    analysis
}
