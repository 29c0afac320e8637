//! The analyser at work: takes marks and audio in order and reports what it measures.

use super::display_feed::DisplayFeed;
use super::playing::Playing;
use crate::exchange::{
    CaptureEvent, Display, Mark, MeasurementStart, Report, SessionNews, TripleBufferWriter,
};
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::{Analyser, AnalyserSetup};
use std::sync::Arc;

/// The analyser, and where its reports and its drawings go.
pub struct Analysis {
    /// With what it was made for; `None` before the first activation and when nothing can be measured.
    analyser: Option<(AnalyserSetup, Analyser)>,
    /// Of the measurement that is being made; `None` while Measure is off.
    begun: Option<MeasurementStart>,
    /// Of the measurement that the analyser holds; stays when Measure goes off.
    held: Option<MeasurementStart>,
    /// The drum that is being picked by playing it.
    playing: Option<Playing>,
    outputs: ReportOutputs,
    display: DisplayFeed,
}

/// Where reports go.
pub struct ReportOutputs {
    pub to_audio: TripleBufferWriter<Report>,
    pub to_session: TripleBufferWriter<Report>,
    pub news: Arc<SessionNews>,
}

impl Analysis {
    /// Measures nothing yet.
    pub fn new(outputs: ReportOutputs, display: DisplayFeed) -> Self {
        Self {
            analyser: None,
            begun: None,
            held: None,
            playing: None,
            outputs,
            display,
        }
    }

    /// For an activation: the same rate and inputs go on refining, others start anew; without inputs there is
    /// nothing to measure. Allocates.
    pub fn prepare(&mut self, setup: Option<AnalyserSetup>) {
        if self.analyser.as_ref().map(|(made_for, _)| *made_for) != setup {
            self.analyser = setup.map(|setup| (setup, Analyser::new(setup)));
            self.begun = None;
            self.held = None;
            self.display.reset();
        }
    }

    /// For an offline render, which must not depend on what was measured before it.
    pub fn forget(&mut self) {
        self.analyser = None;
        self.begun = None;
        self.held = None;
    }

    /// The window that the drawings are for.
    pub fn display(&self) -> Arc<dyn Display> {
        self.display.display()
    }

    /// True while Measure is on.
    pub fn is_measuring(&self) -> bool {
        self.begun.is_some()
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
        match mark {
            Mark::Discontinuity => analyser.reset(),
            Mark::Begin(begin) => {
                analyser.clear();
                self.playing = self.playing.map(|playing| playing.begin(analyser));
                self.begun = Some(begin);
                self.held = self.begun;
            }
            Mark::End => {
                analyser.reset();
                analyser.settle();
                self.report_held();
                self.begun = None;
            }
            Mark::NextHits(request) => {
                self.playing = Some(Playing::new(request).begin(analyser));
                self.report_held();
            }
            Mark::Choose(drum) => {
                self.playing = None;
                analyser.choose(drum);
                self.report_held();
            }
        }
        self.display.mark_changed(self.epoch());
    }

    /// Reports what the analyser holds, measuring or not, once it has heard a drum.
    fn report_held(&mut self) {
        if let (Some((_, analyser)), Some(held)) = (&self.analyser, self.held)
            && analyser.measurement().hits > 0
        {
            self.outputs.publish(analyser, held, self.playing.as_ref());
        }
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
            if let Some(playing) = &mut self.playing {
                playing.follow(analyser);
            }
            self.outputs.publish(analyser, begun, self.playing.as_ref());
            self.display
                .mark_changed(self.begun.map(|begun| begun.epoch));
        }
        self.display.push([first, second, spot], setup.sample_rate);
    }

    /// Draws for the editor; on the analysis thread only.
    pub fn draw(&mut self) {
        let analyser = self.analyser.as_mut();
        self.display
            .draw(analyser.map(|(setup, analyser)| (setup.inputs, analyser)));
    }

    /// Takes the next event of the capture ring. Never allocates.
    pub fn take(&mut self, event: CaptureEvent<'_>) {
        match event {
            CaptureEvent::Mark(mark) => self.mark(mark),
            CaptureEvent::Audio(channels) => self.push(channels),
        }
    }
}

impl ReportOutputs {
    /// A measurement that would replace another waits for its first counted hit: a click on Measure by mistake
    /// loses nothing.
    fn publish(&mut self, analyser: &Analyser, begun: MeasurementStart, playing: Option<&Playing>) {
        let measurement = *analyser.measurement();
        if measurement.hits == 0 && begun.old_hits > 0 {
            return;
        }
        let mut report = Report {
            measurement,
            sums: *analyser.drum_sums(),
            playing: playing.map(Playing::state),
            epoch: begun.epoch,
            ..Report::default()
        };
        for (entry, hit) in report.log.iter_mut().zip(analyser.hits()) {
            *entry = Some(*hit);
        }
        self.to_audio.write(report);
        self.to_session.write(report);
        self.news.tell();
    }
}
