//! Draws the snapshot of the pair on the analysis thread: for an open window, and once a second for the session.

use super::channel_activity::ChannelActivity;
use crate::exchange::{Display, PairSnapshot, TripleBufferWriter};
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::Analyser;
use plumbline_dsp::meters::pair_spectrum::PairSpectrumMeter;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// The way of the drawings to the editor.
pub struct DisplayFeed {
    snapshots: TripleBufferWriter<PairSnapshot>,
    display: Arc<dyn Display>,
    /// Made when first needed; for one analyser's rate and length.
    meter: Option<PairSpectrumMeter>,
    activity: ChannelActivity,
    /// Of the measurement that is drawn.
    epoch: u32,
    /// There is something new to draw.
    changed: bool,
    /// A window was open the last time.
    was_open: bool,
    /// When it was drawn last.
    drawn: Option<Instant>,
}

/// How often it is drawn for the session alone, while no window is open.
const FOR_THE_SESSION: Duration = Duration::from_secs(1);

impl DisplayFeed {
    /// Where snapshots go, and who shows them.
    pub fn new(snapshots: TripleBufferWriter<PairSnapshot>, display: Arc<dyn Display>) -> Self {
        Self {
            snapshots,
            display,
            meter: None,
            activity: ChannelActivity::default(),
            epoch: 0,
            changed: true,
            was_open: false,
            drawn: None,
        }
    }

    /// The window that is drawn for.
    pub fn display(&self) -> Arc<dyn Display> {
        Arc::clone(&self.display)
    }

    /// Another analyser: what was planned for the last one does not fit.
    pub fn reset(&mut self) {
        self.meter = None;
        self.changed = true;
    }

    /// A measurement begins, ends or has changed.
    pub fn mark_changed(&mut self, epoch: Option<u32>) {
        self.epoch = epoch.unwrap_or(self.epoch);
        self.changed = true;
    }

    /// Follows which channels are audible. Never allocates.
    pub fn push(&mut self, channels: [&[f32]; 3], sample_rate: f64) {
        self.changed |= self.activity.push(channels, sample_rate);
    }

    /// Draws when there is something new. On the analysis thread only: it may allocate.
    pub fn draw(&mut self, analyser: Option<(Inputs, &mut Analyser)>) {
        let open = self.display.is_open();
        let rested = self
            .drawn
            .is_none_or(|drawn| drawn.elapsed() >= FOR_THE_SESSION);
        let wanted = match open {
            true => self.changed || !self.was_open,
            false => self.changed && rested,
        };
        self.was_open = open;
        if !wanted {
            return;
        }
        self.changed = false;
        self.drawn = Some(Instant::now());
        let snapshot = match analyser {
            Some((inputs, analyser)) => self.snapshot(inputs, analyser),
            None => PairSnapshot::default(),
        };
        self.snapshots.write(snapshot);
        if open {
            self.display.request_repaint();
        }
    }

    fn snapshot(&mut self, inputs: Inputs, analyser: &mut Analyser) -> PairSnapshot {
        let lag_curve = analyser.lag_curve();
        let silence: &[f32] = &[];
        let hits = analyser
            .own_hits()
            .map(|[first, second, spot]| match inputs {
                Inputs::MonoAndSpot => [spot, first, silence],
                Inputs::Pair => [first, second, silence],
                Inputs::PairAndSpot => [first, second, spot],
            });
        let meter = self
            .meter
            .get_or_insert_with(|| PairSpectrumMeter::new(analyser.rate(), analyser.hit_length()));
        PairSnapshot {
            epoch: self.epoch,
            audible: self.activity.audible(),
            lag_curve,
            spectrum: meter.measure(hits),
        }
    }
}
