//! What reaches the audio thread: reports of the analysis, and what the session holds when a host loads it.

use super::capture::MeasurementStart;
use super::pick::Pick;
use super::report::Report;
use super::triple_buffer::TripleBufferReader;

/// Reader of the newest reports: the audio thread, or the main thread between activations.
pub struct ReportInbox {
    from_analysis: TripleBufferReader<Report>,
    from_session: TripleBufferReader<Report>,
    picks: TripleBufferReader<Pick>,
    current: Report,
    /// Counts the reports that were taken over.
    number: u32,
    picked: Pick,
}

impl ReportInbox {
    /// Nothing has been measured or loaded yet.
    pub fn new(
        from_analysis: TripleBufferReader<Report>,
        from_session: TripleBufferReader<Report>,
        picks: TripleBufferReader<Pick>,
    ) -> Self {
        Self {
            from_analysis,
            from_session,
            picks,
            picked: Pick::Nothing,
            current: Report::default(),
            number: 0,
        }
    }

    /// The report that counts now.
    pub fn current(&self) -> &Report {
        &self.current
    }

    /// Which report counts now: another number, another report.
    pub fn number(&self) -> u32 {
        self.number
    }

    fn take_over(&mut self, report: Report) {
        self.current = report;
        self.number = self.number.wrapping_add(1);
    }

    /// Takes over what the host has loaded; true when there was something.
    pub fn take_loaded(&mut self) -> bool {
        let Some(loaded) = self.from_session.take() else {
            return false;
        };
        let loaded = *loaded;
        self.take_over(loaded);
        true
    }

    /// Takes over what the analysis has measured, unless it belongs to a session state that has been replaced.
    pub fn take_measured(&mut self) {
        if let Some(measured) = self.from_analysis.take()
            && measured.epoch == self.current.epoch
        {
            let measured = *measured;
            self.take_over(measured);
        }
    }

    /// The drum that was picked in the window, or in the session that was loaded.
    pub fn picked(&mut self) -> Pick {
        if let Some(picked) = self.picks.take() {
            self.picked = *picked;
        }
        self.picked
    }

    /// How a measurement that begins now would begin.
    pub fn measurement_start(&self) -> MeasurementStart {
        MeasurementStart {
            epoch: self.current.epoch,
            old_hits: self.current.measurement.hits,
        }
    }
}
