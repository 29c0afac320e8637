//! Listens while Measure is on and keeps everyone informed: on a thread of its own, or inline in an offline render.

use crate::capture::{Begin, Heard, Listener, Mark};
use crate::easel::Easel;
use crate::replacement::Workshop;
use crate::telemetry::{Report, SlotWriter};
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup};
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::thread::{self, JoinHandle};
use std::time::Duration;

/// How often the thread looks for audio: a fifth of the 50 ms in which a hit must be answered.
const POLL: Duration = Duration::from_millis(10);

/// How often it looks while nothing is measured; well below what the ring holds.
const IDLE_POLL: Duration = Duration::from_millis(50);

/// The thread runs FFTs over a few thousand points on buffers of the heap: little stack.
const STACK_BYTES: usize = 512 * 1024;

/// The analyser and the two places it reports to.
pub struct Analysis {
    /// With what it was made for; `None` before the first activation and when nothing can be measured.
    analyser: Option<(AnalyserSetup, Analyser)>,
    /// Of the measurement that is being made; `None` while Measure is off.
    begun: Option<Begin>,
    outlets: Outlets,
    easel: Easel,
}

/// Where reports go.
pub struct Outlets {
    pub to_audio: SlotWriter<Report>,
    pub to_store: SlotWriter<Report>,
}

impl Analysis {
    /// Listens to nothing yet.
    pub fn new(outlets: Outlets, easel: Easel) -> Self {
        Self {
            analyser: None,
            begun: None,
            outlets,
            easel,
        }
    }

    /// For an activation: the same rate and inputs go on refining, others start anew; without inputs there is
    /// nothing to measure. Allocates.
    pub fn prepare(&mut self, setup: Option<AnalyserSetup>) {
        if self.analyser.as_ref().map(|(made_for, _)| *made_for) != setup {
            self.analyser = setup.map(|setup| (setup, Analyser::new(setup)));
            self.begun = None;
            self.easel.renew();
        }
    }

    /// For an offline render, which must not depend on what was heard before it.
    pub fn forget(&mut self) {
        self.analyser = None;
        self.begun = None;
    }

    /// The state of the session that is being measured for, while Measure is on.
    pub fn epoch(&self) -> Option<u32> {
        self.begun.map(|begun| begun.epoch)
    }

    /// Follows the stream. Never allocates.
    pub fn mark(&mut self, mark: Mark) {
        let Some((_, analyser)) = &mut self.analyser else {
            return;
        };
        analyser.reset();
        match mark {
            Mark::Broken => {}
            Mark::Begin(begin) => {
                analyser.clear();
                self.begun = Some(begin);
            }
            Mark::End => self.begun = None,
        }
        self.easel.news(self.epoch());
    }

    /// Takes the next samples; what is not connected is left out whatever it holds. Never allocates.
    pub fn push(&mut self, [first, second, spot]: [&[f32]; 3]) {
        let Some((setup, analyser)) = &mut self.analyser else {
            return;
        };
        let changed = match setup.inputs {
            Inputs::Pair => analyser.push(first, second, &[]),
            Inputs::PairAndSpot => analyser.push(first, second, spot),
            Inputs::MonoAndSpot => analyser.push(first, &[], spot),
        };
        if let (true, Some(begun)) = (changed, self.begun) {
            self.outlets.publish(analyser, begun);
            self.easel.news(self.begun.map(|begun| begun.epoch));
        }
        self.easel.hear([first, second, spot], setup.sample_rate);
    }

    /// Draws for the editor; on the plugin's own thread only.
    fn draw(&mut self) {
        let analyser = self.analyser.as_ref();
        self.easel
            .draw(analyser.map(|(setup, analyser)| (setup.inputs, analyser)));
    }

    fn hear(&mut self, heard: Heard<'_>) {
        match heard {
            Heard::Mark(mark) => self.mark(mark),
            Heard::Audio(channels) => self.push(channels),
        }
    }
}

impl Outlets {
    /// A measurement that would replace another waits for its first counted hit: a click on Measure by mistake
    /// loses nothing.
    fn publish(&mut self, analyser: &Analyser, begun: Begin) {
        let measurement = *analyser.measurement();
        if measurement.hits == 0 && begun.old_hits > 0 {
            return;
        }
        let mut report = Report {
            measurement,
            epoch: begun.epoch,
            ..Report::default()
        };
        for (place, hit) in report.log.iter_mut().zip(analyser.hits()) {
            *place = Some(*hit);
        }
        self.to_audio.write(report);
        self.to_store.write(report);
    }
}

/// The plugin's own thread: the analysis at work, and the workshop beside it.
pub struct AnalysisThread {
    stop: Arc<AtomicBool>,
    handle: Option<JoinHandle<Analysis>>,
}

impl AnalysisThread {
    /// Starts listening. Fails when the system has no thread to give.
    pub fn spawn(analysis: Analysis, listener: Listener, workshop: Workshop) -> io::Result<Self> {
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let handle = thread::Builder::new()
            .name("plumbline analysis".into())
            .stack_size(STACK_BYTES)
            .spawn(move || listen(analysis, listener, workshop, &stopped))?;
        let handle = Some(handle);
        Ok(Self { stop, handle })
    }

    /// Stops and gives the analysis back, with everything that it has heard.
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

fn listen(
    mut analysis: Analysis,
    mut listener: Listener,
    mut workshop: Workshop,
    stop: &AtomicBool,
) -> Analysis {
    while !stop.load(Relaxed) {
        workshop.work();
        listener.listen(|heard| analysis.hear(heard));
        analysis.draw();
        thread::park_timeout(match analysis.begun {
            Some(_) => POLL,
            None => IDLE_POLL,
        });
    }
    listener.listen(|heard| analysis.hear(heard));
    analysis
}
