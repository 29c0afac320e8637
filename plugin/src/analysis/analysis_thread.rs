//! The analysis thread: empties the capture ring, draws for the editor, and does the background job of the audio path.

use super::measuring::Analysis;
use super::waker::{Wakening, wake};
use crate::exchange::{Call, CaptureReader, Pace};
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How often the thread looks for audio: a fifth of the 50 ms in which a hit must be answered.
const POLL: Duration = Duration::from_millis(10);

/// How often while the stream comes in much faster than the sound.
const HURRIED_POLL: Duration = Duration::from_millis(1);

/// The thread runs FFTs over a few thousand points on buffers of the heap: little stack.
const STACK_BYTES: usize = 512 * 1024;

/// The plugin's own thread: the analysis at work, and a background job beside it.
pub struct AnalysisThread {
    stop: Arc<AtomicBool>,
    handle: Option<JoinHandle<Analysis>>,
    /// While nothing is measured the thread sleeps until it is called.
    wakening: Option<Wakening>,
}

impl AnalysisThread {
    /// Starts to measure what the ring brings, and calls `background` once a round. Fails when the system has no
    /// thread to give.
    pub fn spawn(
        analysis: Analysis,
        reader: CaptureReader,
        call: Call,
        background: impl FnMut() + Send + 'static,
    ) -> io::Result<Self> {
        let stop = Arc::new(AtomicBool::new(false));
        let (stopped, made, display) = (Arc::clone(&stop), call.clone(), analysis.display());
        let handle = thread::Builder::new()
            .name("plumbline analysis".into())
            .stack_size(STACK_BYTES)
            .spawn(move || run(analysis, reader, &call, background, &stopped))?;
        let is_wanted = move || made.is_made() || display.is_open();
        let wakening = wake(handle.thread().clone(), is_wanted);
        let mut running = Self {
            stop,
            handle: Some(handle),
            wakening: None,
        };
        running.wakening = Some(wakening?);
        Ok(running)
    }

    /// Stops and gives the analysis back, with everything that it has measured.
    pub fn finish(mut self) -> Option<Analysis> {
        self.join()
    }

    fn join(&mut self) -> Option<Analysis> {
        self.wakening = None;
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
    call: &Call,
    mut background: impl FnMut(),
    stop: &AtomicBool,
) -> Analysis {
    while !stop.load(Relaxed) {
        call.answer();
        background();
        let pace = reader.read_all(|event| analysis.take(event));
        analysis.draw();
        match pace {
            Pace::Hurried => thread::park_timeout(HURRIED_POLL),
            Pace::Calm if analysis.is_measuring() => thread::park_timeout(POLL),
            Pace::Calm => thread::park(),
        }
    }
    reader.read_all(|event| analysis.take(event));
    analysis
}
