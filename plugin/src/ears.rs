//! Hands the audio over to the analysis while Measure is on.

use crate::analysis::Analysis;
use crate::capture::{Begin, Capture, Mark};
use crate::inlets::Inlets;
use crate::params::PlumblineParams;

/// Who hears what is measured.
pub enum Hearing {
    /// A thread, through a ring.
    Thread(Capture),
    /// The render itself waits for the answer.
    Inline(Box<Analysis>),
    /// Not at work yet, or the system had no thread to give.
    Nobody,
}

/// The audio thread's side of the analysis.
pub struct Ears {
    hearing: Hearing,
    measuring: bool,
}

impl Ears {
    /// Closed.
    pub fn new(hearing: Hearing) -> Self {
        Self {
            hearing,
            measuring: false,
        }
    }

    /// For the next activation.
    pub fn into_hearing(self) -> Hearing {
        self.hearing
    }

    /// Who listens has been measuring before this activation already and goes on.
    pub fn resume(&mut self) {
        self.measuring = true;
        self.mark(Mark::Broken);
    }

    /// Follows the knob. A rising edge begins a new measurement.
    pub fn follow(&mut self, params: &PlumblineParams, inlets: &Inlets) {
        let measure = params.measure.value();
        if measure && !self.measuring {
            self.begin(inlets);
        } else if self.measuring && !measure {
            self.mark(Mark::End);
        }
        self.measuring = measure;
    }

    /// The host has loaded another measurement: what is being measured begins anew from there.
    pub fn begin_anew(&mut self, inlets: &Inlets) {
        if self.measuring {
            self.begin(inlets);
        }
    }

    /// What follows does not continue what came before.
    pub fn break_off(&mut self) {
        if self.measuring {
            self.mark(Mark::Broken);
        }
    }

    /// Takes the next samples; `second` may be empty. Nothing while Measure is off.
    pub fn hear(&mut self, first: &[f32], second: &[f32], spot: &[f32]) {
        if !self.measuring {
            return;
        }
        match &mut self.hearing {
            Hearing::Thread(capture) => capture.push(first, second, spot),
            Hearing::Inline(analysis) => analysis.push([first, second, spot]),
            Hearing::Nobody => {}
        }
    }

    fn begin(&mut self, inlets: &Inlets) {
        self.mark(Mark::Begin(Begin {
            epoch: inlets.report.epoch,
            old_hits: inlets.report.measurement.hits,
        }));
    }

    fn mark(&mut self, mark: Mark) {
        match &mut self.hearing {
            Hearing::Thread(capture) => capture.mark(mark),
            Hearing::Inline(analysis) => analysis.mark(mark),
            Hearing::Nobody => {}
        }
    }
}
