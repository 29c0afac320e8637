//! The audio thread's end of the analysis: hands the audio over while Measure is on.

use super::measuring::Analysis;
use crate::exchange::{Asked, CaptureWriter, Mark, MeasurementStart};

/// Where the audio that is measured goes.
pub enum Route {
    /// To the analysis thread, through a ring.
    Thread(CaptureWriter),
    /// Into the analysis itself: an offline render waits for the answer.
    Inline(Box<Analysis>),
    /// Nowhere: not active yet, or the system had no thread to give.
    Closed,
}

/// Follows Measure and marks the stream.
pub struct MeasurementFeed {
    route: Route,
    measuring: bool,
    /// What the analysis was asked for; `None`: nothing in this activation.
    asked: Option<Asked>,
}

impl MeasurementFeed {
    /// Measure is off.
    pub fn new(route: Route) -> Self {
        Self {
            route,
            measuring: false,
            asked: None,
        }
    }

    /// For the next activation.
    pub fn into_route(self) -> Route {
        self.route
    }

    /// The analysis has been measuring before this activation already and goes on.
    pub fn resume(&mut self) {
        self.measuring = true;
        self.mark(Mark::Discontinuity);
    }

    /// Follows the parameter Measure: how a measurement would begin now while it is on, `None` while it is off. A
    /// rising edge begins a new measurement.
    pub fn follow(&mut self, measure: Option<MeasurementStart>) {
        match measure {
            Some(start) if !self.measuring => self.mark(Mark::Begin(start)),
            None if self.measuring => self.mark(Mark::End),
            _ => {}
        }
        self.measuring = measure.is_some();
    }

    /// Follows the drum that is asked for.
    pub fn choose(&mut self, asked: Asked) {
        if self.asked != Some(asked) {
            self.asked = Some(asked);
            self.mark(match asked {
                Asked::Drum(drum) => Mark::Choose(drum),
                Asked::NextHits(request) => Mark::NextHits(request),
            });
        }
    }

    /// The host has loaded another measurement: what is being measured begins anew from there.
    pub fn restart(&mut self, start: MeasurementStart) {
        if self.measuring {
            self.mark(Mark::Begin(start));
        }
    }

    /// What follows does not continue what came before.
    pub fn break_off(&mut self) {
        if self.measuring {
            self.mark(Mark::Discontinuity);
        }
    }

    /// Takes the next samples; `second` may be empty. Nothing while Measure is off.
    pub fn push(&mut self, first: &[f32], second: &[f32], spot: &[f32]) {
        if !self.measuring {
            return;
        }
        match &mut self.route {
            Route::Thread(capture) => capture.push(first, second, spot),
            Route::Inline(analysis) => analysis.push([first, second, spot]),
            Route::Closed => {}
        }
    }

    fn mark(&mut self, mark: Mark) {
        match &mut self.route {
            Route::Thread(capture) => capture.mark(mark),
            Route::Inline(analysis) => analysis.mark(mark),
            Route::Closed => {}
        }
    }
}
