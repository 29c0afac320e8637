//! Keeps the measurement for the host, which saves and loads it, and passes it on to the audio thread.
//!
//! Promises that the lock is taken by the threads that save, load and draw alone. Called by the parameters and the window; calls
//! the files beside it that write and read each part.

use super::picked_drum::{read_picked, write_picked};
use super::saved_drawing::{read_drawing, write_drawing};
use super::saved_kit::{AppliedGap, write_kit};
use super::saved_measurement::{read_report, write_report, write_telemetry};
use super::take_notes::{TakeNotes, read_notes, write_notes};
#[cfg(any(test, feature = "editor"))]
use crate::exchange::{PICKING_HITS, PickedByPlaying};
use crate::exchange::{
    PairSnapshot, Pick, Report, Telemetry, TripleBufferReader, TripleBufferWriter,
};
use atomic_float::AtomicF32;
use nice_plug::params::persist::PersistentField;
use plumbline_dsp::measurement::{Polarity, Signature};
use serde_json::{Map, Value};
use std::sync::atomic::Ordering::Relaxed;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Keeps the last report for the host.
///
/// Its lock is only taken by the threads that save and load; the analysis and the audio reach it through triple buffers.
pub struct MeasurementStore {
    inner: Mutex<Inner>,
    telemetry: Arc<Telemetry>,
    /// Degrees Celsius. Writer: the parameter, whenever it is set.
    temperature_c: Arc<AtomicF32>,
}

struct Inner {
    /// The newest report that this side knows.
    report: Report,
    /// As loaded, so that keys of a newer version survive.
    loaded: Map<String, Value>,
    reports: TripleBufferReader<Report>,
    /// What is drawn of the hits: the newest that this side knows.
    pair: PairSnapshot,
    pairs: TripleBufferReader<PairSnapshot>,
    loads: TripleBufferWriter<Report>,
    /// The drum that was picked by hand.
    picked: Pick,
    /// Requests for the next four strokes so far.
    requests: u32,
    picks: TripleBufferWriter<Pick>,
    /// Shared with the frames of an open window.
    notes: Arc<TakeNotes>,
}

impl MeasurementStore {
    /// `reports` and `pairs` come from the analysis, `loads` and `picks` go to the audio thread.
    pub fn new(
        reports: TripleBufferReader<Report>,
        pairs: TripleBufferReader<PairSnapshot>,
        loads: TripleBufferWriter<Report>,
        picks: TripleBufferWriter<Pick>,
        telemetry: Arc<Telemetry>,
    ) -> Self {
        let inner = Inner {
            report: Report::default(),
            loaded: Map::new(),
            reports,
            pair: PairSnapshot::default(),
            pairs,
            loads,
            picked: Pick::Nothing,
            requests: 0,
            picks,
            notes: Arc::default(),
        };
        Self {
            inner: Mutex::new(inner),
            telemetry,
            temperature_c: Arc::default(),
        }
    }

    /// Where the temperature of the air is noted, °C.
    pub fn temperature_c(&self) -> Arc<AtomicF32> {
        Arc::clone(&self.temperature_c)
    }

    /// The newest measurement and its log. Waits for whoever saves or loads, never for the audio.
    #[cfg(any(test, feature = "editor"))]
    pub fn report(&self) -> Report {
        self.lock().refreshed()
    }

    /// What is drawn of the hits.
    #[cfg(any(test, feature = "editor"))]
    pub fn pair(&self) -> PairSnapshot {
        let mut inner = self.lock();
        inner.refresh_pair();
        inner.pair
    }

    /// Keeps what a drum sounds like that was picked by hand.
    #[cfg(any(test, feature = "editor"))]
    pub fn pick(&self, signature: Signature) {
        self.lock().pick(Pick::Drum(signature));
    }

    /// The drum that is being picked by playing it, until its last stroke has been heard.
    #[cfg(any(test, feature = "editor"))]
    pub fn playing(&self) -> Option<PickedByPlaying> {
        let mut inner = self.lock();
        let heard = inner.refreshed().playing;
        let Pick::NextHits(request) = inner.picked else {
            return None;
        };
        let asked = PickedByPlaying {
            request,
            left: PICKING_HITS,
        };
        heard
            .filter(|heard| heard.request == request)
            .or(Some(asked))
    }

    /// Asks for the next four strokes: their drum is the picked one.
    #[cfg(any(test, feature = "editor"))]
    pub fn pick_by_playing(&self) {
        let mut inner = self.lock();
        inner.requests += 1;
        let request = inner.requests;
        inner.pick(Pick::NextHits(request));
    }

    /// What the engineer has noted.
    #[cfg(any(test, feature = "editor"))]
    pub fn notes(&self) -> Arc<TakeNotes> {
        Arc::clone(&self.lock().notes)
    }

    /// Changes what the engineer has noted.
    #[cfg(any(test, feature = "editor"))]
    pub fn change_notes(&self, change: impl FnOnce(&mut TakeNotes)) {
        change(Arc::make_mut(&mut self.lock().notes));
    }

    fn applied_gap(&self) -> AppliedGap {
        let telemetry = &self.telemetry;
        AppliedGap {
            gap_s: telemetry.first_s.load(Relaxed) - telemetry.second_s.load(Relaxed),
            second: match telemetry.flip.load(Relaxed) {
                true => Polarity::Inverted,
                false => Polarity::Same,
            },
        }
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Inner {
    /// Takes the analysis' newest report over, unless the host has loaded something since.
    fn refreshed(&mut self) -> Report {
        if let Some(report) = self.reports.take()
            && report.epoch == self.report.epoch
        {
            self.report = *report;
            self.keep_played();
        }
        self.report
    }

    /// Takes the newest drawing over; an empty one that belongs to the same measurement says only who is audible.
    fn refresh_pair(&mut self) {
        let Some(pair) = self.pairs.take().copied() else {
            return;
        };
        let same = pair.epoch == self.pair.epoch;
        self.pair = match pair.spectrum.hits() == 0 && same {
            true => PairSnapshot {
                audible: pair.audible,
                ..self.pair
            },
            false => pair,
        };
    }

    /// Once four strokes have been played, their drum is kept by what it sounds like.
    fn keep_played(&mut self) {
        let played = self.report.playing.filter(|playing| playing.left == 0);
        let chosen = self.report.measurement.chosen().copied();
        if let (Some(played), Some(chosen)) = (played, chosen)
            && self.picked == Pick::NextHits(played.request)
        {
            self.pick(Pick::Drum(chosen.signature));
        }
    }

    fn load(&mut self, saved: Map<String, Value>) {
        let epoch = self.report.epoch.wrapping_add(1);
        self.report = read_report(&saved, epoch);
        self.pick(read_picked(&saved).map_or(Pick::Nothing, Pick::Drum));
        self.notes = Arc::new(read_notes(&saved));
        self.pair = read_drawing(&saved, epoch);
        self.loaded = saved;
        self.loads.write(self.report);
    }

    fn pick(&mut self, picked: Pick) {
        self.picked = picked;
        self.picks.write(picked);
    }
}

impl<'a> PersistentField<'a, Value> for MeasurementStore {
    fn set(&self, saved: Value) {
        if let Value::Object(saved) = saved {
            self.lock().load(saved);
        }
    }

    fn map<F: Fn(&Value) -> R, R>(&self, read: F) -> R {
        let mut inner = self.lock();
        let report = inner.refreshed();
        let mut saved = inner.loaded.clone();
        if let Pick::Drum(signature) = inner.picked {
            write_picked(signature, &mut saved);
        }
        write_notes(&inner.notes, &mut saved);
        inner.refresh_pair();
        if inner.pair.epoch == report.epoch {
            write_drawing(&inner.pair, &mut saved);
        }
        drop(inner);
        write_report(&report, &mut saved);
        write_kit(&report, self.applied_gap(), &mut saved);
        write_telemetry(&self.telemetry, &mut saved);
        let temperature_c = self.temperature_c.load(Relaxed);
        saved.insert("temperature_c".into(), temperature_c.into());
        read(&Value::Object(saved))
    }
}

#[cfg(test)]
mod tests;
