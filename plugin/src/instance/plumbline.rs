//! The plugin as the framework drives it: construction, activation, processing.

use super::layouts::LAYOUTS;
use super::query::InstanceQuery;
use crate::analysis::{
    Analysis, AnalysisThread, DisplayFeed, MeasurementFeed, ReportOutputs, Route,
};
use crate::audio::{PathExchange, Processor, Setup, host_transport, path_exchange};
#[cfg(feature = "editor")]
use crate::editor::{self, DeckFeed, PlumblineEditor, Scene};
#[cfg(not(feature = "editor"))]
use crate::exchange::NoDisplay;
use crate::exchange::{ReportInbox, Telemetry, capture, triple_buffer};
use crate::params::{PlumblineParams, complete};
use crate::session::MeasurementStore;
use nice_plug::prelude::*;
use plumbline_dsp::channels::Inputs;
use plumbline_dsp::measure::AnalyserSetup;
use std::ops::RangeInclusive;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Sample rates at which audio passes, Hz: the lowest and (with a margin) the highest that hosts and their validators ask
/// for. Common practice, no source.
const SAMPLE_RATES: RangeInclusive<f32> = 100.0..=3_072_000.0;
/// Sample rates that the core measures at, Hz. At others the measurement of the session is used and none is made.
const MEASURED_RATES: RangeInclusive<f64> = 8_000.0..=768_000.0;

/// One instance.
pub struct Plumbline {
    pub(super) params: Arc<PlumblineParams>,
    telemetry: Arc<Telemetry>,
    reports: ReportInbox,
    /// Here while nothing is active; else on its thread or in the processor.
    analysis: Option<Analysis>,
    thread: Option<AnalysisThread>,
    processor: Option<Box<Processor>>,
    /// While the thread is at work.
    exchange: Option<PathExchange>,
    /// What the parameters asked for at the last block.
    asked: Option<Setup>,
    #[cfg(feature = "editor")]
    scene: Scene,
    #[cfg(feature = "editor")]
    deck_feed: DeckFeed,
}

impl Default for Plumbline {
    fn default() -> Self {
        let telemetry = Arc::new(Telemetry::default());
        let (to_audio, from_analysis) = triple_buffer();
        let (to_session, reports) = triple_buffer();
        let (loads, from_session) = triple_buffer();
        let store = MeasurementStore::new(reports, loads, Arc::clone(&telemetry));
        let params = Arc::new(PlumblineParams::new(store));
        InstanceQuery::offer(&params);
        let (to_window, snapshots) = triple_buffer();
        #[cfg(feature = "editor")]
        let (scene, deck_feed) = editor::scene(&params, &telemetry, snapshots);
        #[cfg(feature = "editor")]
        InstanceQuery::offer_scene(&scene);
        #[cfg(feature = "editor")]
        let display = Arc::clone(&scene.display);
        #[cfg(not(feature = "editor"))]
        let (display, _) = (Arc::new(NoDisplay), snapshots);
        let display = DisplayFeed::new(to_window, display);
        Self {
            params,
            telemetry,
            reports: ReportInbox::new(from_analysis, from_session),
            analysis: Some(Analysis::new(
                ReportOutputs {
                    to_audio,
                    to_session,
                },
                display,
            )),
            thread: None,
            processor: None,
            exchange: None,
            asked: None,
            #[cfg(feature = "editor")]
            scene,
            #[cfg(feature = "editor")]
            deck_feed,
        }
    }
}

impl Plumbline {
    /// What the parameters ask an activation for.
    fn setup(&self, channels: usize, config: &BufferConfig) -> Setup {
        Setup {
            sample_rate: f64::from(config.sample_rate),
            channels,
            mode: self.params.mode.value(),
            reach_s: self.params.reach_s(),
            offline: config.process_mode == ProcessMode::Offline,
        }
    }

    /// Takes the analysis back from its thread or from the processor.
    fn take_back_analysis(&mut self) {
        self.exchange = None;
        let thread = self.thread.take();
        let processor = self.processor.take();
        let route = processor.map(|processor| processor.into_feed().into_route());
        match (route, thread) {
            (Some(Route::Inline(analysis)), _) => self.analysis = Some(*analysis),
            (_, Some(thread)) => self.analysis = thread.finish(),
            _ => {}
        }
    }

    /// Sends the analysis to where it measures.
    fn send_analysis(
        &mut self,
        setup: Setup,
        inputs: Option<Inputs>,
        longest_block: usize,
    ) -> Route {
        let sample_rate = setup.sample_rate;
        if !MEASURED_RATES.contains(&sample_rate) {
            return Route::Closed;
        }
        let Some(mut analysis) = self.analysis.take() else {
            return Route::Closed;
        };
        if setup.offline {
            analysis.forget();
        }
        analysis.prepare(inputs.map(|inputs| AnalyserSetup {
            sample_rate,
            inputs,
        }));
        if setup.offline {
            return Route::Inline(Box::new(analysis));
        }
        let telemetry = Arc::clone(&self.telemetry);
        let (writer, reader) = capture(sample_rate, longest_block, telemetry);
        let (exchange, mut builder) = path_exchange(Arc::clone(&self.telemetry));
        let Ok(thread) = AnalysisThread::spawn(analysis, reader, move || builder.work()) else {
            return Route::Closed;
        };
        self.exchange = Some(exchange);
        self.thread = Some(thread);
        Route::Thread(writer)
    }

    /// A new mode or reach. A CLAP host restarts the plugin for it, once it is asked. Of VST3 hosts some do and some
    /// only read the latency again, so the new path is put in place first and the latency told then.
    fn follow_latency(&mut self, context: &impl ProcessContext<Self>) {
        let Some(processor) = &mut self.processor else {
            return;
        };
        let asked = Setup {
            mode: self.params.mode.value(),
            reach_s: self.params.reach_s(),
            ..processor.setup()
        };
        if context.plugin_api() == PluginApi::Clap {
            let news = self.asked.replace(asked) != Some(asked);
            if news && asked != processor.setup() {
                context.request_restart();
            }
            return;
        }
        let Some(exchange) = &mut self.exchange else {
            return;
        };
        let wanted = asked != processor.setup();
        if wanted && exchange.is_ready() {
            processor.leave();
        } else {
            processor.stay();
        }
        if wanted && processor.has_left() && exchange.swap(processor) {
            processor.enter(&self.params, &mut self.reports);
            context.set_latency_samples(processor.setup().latency() as u32);
        }
        if asked != processor.setup() {
            exchange.request(asked);
        }
    }

    /// True when the analysis has been measuring for this state of the session and still should.
    fn goes_on_measuring(&self) -> bool {
        let epoch = self.analysis.as_ref().and_then(Analysis::epoch);
        self.params.measure.value() && epoch == Some(self.reports.current().epoch)
    }
}

/// What a layout lets the analyser measure.
fn inputs(layout: &AudioIOLayout) -> Option<Inputs> {
    let pair = channels(layout) == 2;
    let spot = !layout.aux_input_ports.is_empty();
    match (pair, spot) {
        (true, true) => Some(Inputs::PairAndSpot),
        (true, false) => Some(Inputs::Pair),
        (false, true) => Some(Inputs::MonoAndSpot),
        (false, false) => None,
    }
}

fn channels(layout: &AudioIOLayout) -> usize {
    layout
        .main_input_channels
        .map_or(0, |count| count.get() as usize)
}

impl Plugin for Plumbline {
    const NAME: &'static str = "Plumbline";
    const VENDOR: &'static str = "Plumbline";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = LAYOUTS;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    #[cfg(feature = "editor")]
    type Editor = PlumblineEditor;
    #[cfg(not(feature = "editor"))]
    type Editor = ();
    type SysExMessage = ();
    type BackgroundTask = ();

    fn params(&self) -> Arc<dyn Params> {
        Arc::clone(&self.params) as Arc<dyn Params>
    }

    fn filter_state(state: &mut PluginState) {
        let ((_, reports), (loads, _)) = (triple_buffer(), triple_buffer());
        let store = MeasurementStore::new(reports, loads, Arc::default());
        complete(state, &PlumblineParams::new(store));
    }

    #[cfg(feature = "editor")]
    fn editor(&mut self, _executor: AsyncExecutor<Self>) -> Option<Self::Editor> {
        Some(PlumblineEditor::new(self.scene.clone()))
    }

    fn activate(
        &mut self,
        layout: &AudioIOLayout,
        config: &BufferConfig,
        context: &mut impl ActivateContext<Self>,
    ) -> bool {
        self.take_back_analysis();
        if !SAMPLE_RATES.contains(&config.sample_rate) {
            return false;
        }
        self.reports.take_loaded();
        let setup = self.setup(channels(layout), config);
        let spot = !layout.aux_input_ports.is_empty();
        self.telemetry.spot.store(spot, Relaxed);
        let goes_on = self.goes_on_measuring() && !setup.offline;
        let longest_block = config.max_buffer_size as usize;
        let route = self.send_analysis(setup, inputs(layout), longest_block);
        let mut feed = MeasurementFeed::new(route);
        if goes_on {
            feed.resume();
        }
        let mut processor = Processor::new(setup, feed, Arc::clone(&self.telemetry));
        processor.arrive(&self.params, &mut self.reports);
        self.processor = Some(Box::new(processor));
        self.asked = Some(setup);
        context.set_latency_samples(setup.latency() as u32);
        true
    }

    fn reset(&mut self) {
        if let Some(processor) = &mut self.processor {
            processor.reset(&self.params, &mut self.reports);
        }
    }

    fn process(
        &mut self,
        buffer: &mut Buffer<'_>,
        aux: &mut AuxiliaryBuffers<'_>,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        self.follow_latency(context);
        let Some(processor) = &mut self.processor else {
            return ProcessStatus::Normal;
        };
        let spot = aux
            .inputs
            .first()
            .map_or(&[][..], Buffer::as_slice_immutable);
        let transport = host_transport(context.transport());
        let main = buffer.as_slice();
        processor.process(main, spot, transport, &self.params, &mut self.reports);
        #[cfg(feature = "editor")]
        self.deck_feed.show(processor.bearings(), transport);
        ProcessStatus::Tail(processor.tail())
    }

    fn deactivate(&mut self) {
        self.take_back_analysis();
    }
}
