//! What the audio thread is told: by the analysis, and by a host that loads a session.

use crate::telemetry::{Report, SlotReader};

/// The newest reports. Reader: the audio thread, or the main thread between activations.
pub struct Inlets {
    pub from_analysis: SlotReader<Report>,
    pub from_store: SlotReader<Report>,
    /// The report that counts now.
    pub report: Report,
}

impl Inlets {
    /// Takes over what the host has loaded; true when there was something.
    pub fn take_load(&mut self) -> bool {
        let Some(loaded) = self.from_store.take() else {
            return false;
        };
        self.report = *loaded;
        true
    }

    /// Takes over what the analysis has found, unless it belongs to a state that is no longer there.
    pub fn take_news(&mut self) {
        if let Some(news) = self.from_analysis.take()
            && news.epoch == self.report.epoch
        {
            self.report = *news;
        }
    }
}
