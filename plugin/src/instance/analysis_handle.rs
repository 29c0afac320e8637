//! The analysis between and during activations: idle, on its thread, or inside an offline render.

use crate::analysis::{Analysis, AnalysisThread, Route};
use crate::audio::{PathExchange, Render, Setup, path_exchange};
use crate::exchange::{Call, Telemetry, capture};
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::AnalyserSetup;
use plumbline_dsp::units::MEASURED_RATES;
use std::sync::Arc;

/// Owns the analysis while nothing is active, and its thread while something is.
pub struct AnalysisHandle {
    idle: Option<Analysis>,
    thread: Option<AnalysisThread>,
}

/// The audio that an activation brings to be measured.
#[derive(Clone, Copy, Debug)]
pub struct Measurable {
    /// `None` where the layout has nothing to compare.
    pub inputs: Option<Inputs>,
    /// Longest block of the host, samples.
    pub longest_block: usize,
}

/// What an activation gets.
pub struct Started {
    /// Where the audio to be measured goes.
    pub route: Route,
    /// The exchange of audio paths, while the thread is there to build them.
    pub exchange: Option<PathExchange>,
}

impl Started {
    /// Nothing is measured.
    fn closed() -> Self {
        Self {
            route: Route::Closed,
            exchange: None,
        }
    }
}

impl AnalysisHandle {
    /// Idle.
    pub fn new(analysis: Analysis) -> Self {
        Self {
            idle: Some(analysis),
            thread: None,
        }
    }

    /// The state of the session that was being measured for when the last activation ended.
    pub fn epoch(&self) -> Option<u32> {
        self.idle.as_ref().and_then(Analysis::epoch)
    }

    /// Prepares the analysis for an activation and sends it to where it measures.
    pub fn start(
        &mut self,
        setup: &Setup,
        measurable: Measurable,
        telemetry: &Arc<Telemetry>,
    ) -> Started {
        // At other rates the measurement of the session is used and none is made.
        if !MEASURED_RATES.contains(&setup.sample_rate) {
            return Started::closed();
        }
        let Some(mut analysis) = self.idle.take() else {
            return Started::closed();
        };
        if setup.render == Render::Offline {
            analysis.forget();
        }
        analysis.prepare(measurable.inputs.map(|inputs| AnalyserSetup {
            sample_rate: setup.sample_rate,
            inputs,
        }));
        match setup.render {
            Render::Offline => Started {
                route: Route::Inline(Box::new(analysis)),
                exchange: None,
            },
            Render::Realtime => self.spawn(analysis, setup, measurable, telemetry),
        }
    }

    fn spawn(
        &mut self,
        analysis: Analysis,
        setup: &Setup,
        measurable: Measurable,
        telemetry: &Arc<Telemetry>,
    ) -> Started {
        let call = Call::default();
        let (writer, reader) = capture(
            setup.sample_rate,
            measurable.longest_block,
            call.clone(),
            Arc::clone(telemetry),
        );
        let (exchange, mut builder) = path_exchange(call.clone(), Arc::clone(telemetry));
        let build = move || builder.work();
        let Ok(thread) = AnalysisThread::spawn(analysis, reader, call, build) else {
            return Started::closed();
        };
        self.thread = Some(thread);
        Started {
            route: Route::Thread(writer),
            exchange: Some(exchange),
        }
    }

    /// Takes the analysis back from its thread, or from the route of the activation that has ended.
    pub fn stop(&mut self, route: Option<Route>) {
        let thread = self.thread.take();
        match (route, thread) {
            (Some(Route::Inline(analysis)), _) => self.idle = Some(*analysis),
            (_, Some(thread)) => self.idle = thread.finish(),
            _ => {}
        }
    }
}
