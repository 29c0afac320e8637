//! The plugin as the framework drives it: construction, activation, processing.

use super::analysis_handle::{AnalysisHandle, Measurable};
use super::latency_change::LatencyChange;
use super::layouts::{LAYOUTS, channels, has_spot, inputs};
use super::query::InstanceQuery;
use crate::analysis::{Analysis, DisplayFeed, MeasurementFeed, ReportOutputs};
use crate::audio::{Processor, Render, Setup, host_transport};
#[cfg(feature = "editor")]
use crate::editor::{PlumblineEditor, Scene, SceneFeeds};
#[cfg(not(feature = "editor"))]
use crate::exchange::NoDisplay;
use crate::exchange::{DeckFeed, ReportInbox, SessionNews, TapeFeed, Telemetry, triple_buffer};
use crate::params::{PlumblineParams, complete};
use crate::session::MeasurementStore;
use nice_plug::prelude::*;
use std::ops::RangeInclusive;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Sample rates at which audio passes, Hz: the lowest and (with a margin) the highest that hosts and their validators ask
/// for. Common practice, no source.
const SAMPLE_RATES: RangeInclusive<f32> = 100.0..=3_072_000.0;

/// One instance.
pub struct Plumbline {
    pub(super) params: Arc<PlumblineParams>,
    telemetry: Arc<Telemetry>,
    reports: ReportInbox,
    analysis: AnalysisHandle,
    active: Option<Active>,
    deck_feed: DeckFeed,
    tape_feed: TapeFeed,
    #[cfg(feature = "editor")]
    scene: Scene,
}

/// What one activation has.
struct Active {
    processor: Box<Processor>,
    latency: LatencyChange,
}

impl Default for Plumbline {
    fn default() -> Self {
        let telemetry = Arc::new(Telemetry::default());
        let (to_audio, from_analysis) = triple_buffer();
        let (to_session, reports) = triple_buffer();
        let (loads, from_session) = triple_buffer();
        let (picks, picks_out) = triple_buffer();
        let (to_pairs, pairs) = triple_buffer();
        let (to_decks, decks) = triple_buffer();
        let (to_levels, levels) = triple_buffer();
        let store = MeasurementStore::new(reports, pairs, loads, picks, Arc::clone(&telemetry));
        let params = Arc::new(PlumblineParams::new(store));
        let news = Arc::new(SessionNews::default());
        InstanceQuery::offer(&params, &news);
        #[cfg(feature = "editor")]
        let scene = Scene::new(&params, &telemetry, SceneFeeds { decks, levels });
        #[cfg(feature = "editor")]
        InstanceQuery::offer_scene(&scene);
        #[cfg(feature = "editor")]
        let display = scene.display();
        #[cfg(not(feature = "editor"))]
        let (display, _) = (Arc::new(NoDisplay), (decks, levels));
        let outputs = ReportOutputs {
            to_audio,
            to_session,
            news,
        };
        let analysis = Analysis::new(outputs, DisplayFeed::new(to_pairs, display.clone()));
        Self {
            params,
            telemetry,
            reports: ReportInbox::new(from_analysis, from_session, picks_out),
            analysis: AnalysisHandle::new(analysis),
            active: None,
            deck_feed: DeckFeed::new(to_decks, display.clone()),
            tape_feed: TapeFeed::new(to_levels, display),
            #[cfg(feature = "editor")]
            scene,
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
            print: self.params.print.on.value(),
            render: match config.process_mode {
                ProcessMode::Offline => Render::Offline,
                _ => Render::Realtime,
            },
        }
    }

    /// Ends the activation, if there is one.
    fn stop(&mut self) {
        let active = self.active.take();
        let route = active.map(|active| active.processor.into_feed().into_route());
        self.analysis.stop(route);
    }

    /// True when the analysis has been measuring for this state of the session and still should.
    fn goes_on_measuring(&self) -> bool {
        self.params.measure.value() && self.analysis.epoch() == Some(self.reports.current().epoch)
    }
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
        complete(state, &PlumblineParams::untouched());
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
        self.stop();
        if !SAMPLE_RATES.contains(&config.sample_rate) {
            return false;
        }
        self.reports.take_loaded();
        let setup = self.setup(channels(layout), config);
        self.telemetry.spot.store(has_spot(layout), Relaxed);
        let goes_on = self.goes_on_measuring() && setup.render == Render::Realtime;
        let measurable = Measurable {
            inputs: inputs(layout),
            longest_block: config.max_buffer_size as usize,
        };
        let started = self.analysis.start(&setup, measurable, &self.telemetry);
        let mut feed = MeasurementFeed::new(started.route);
        if goes_on {
            feed.resume();
        }
        let mut processor = Box::new(Processor::new(setup, feed, Arc::clone(&self.telemetry)));
        processor.start(&self.params, &mut self.reports);
        context.set_latency_samples(processor.latency());
        self.active = Some(Active {
            processor,
            latency: LatencyChange::new(setup, started.exchange),
        });
        true
    }

    fn reset(&mut self) {
        if let Some(Active { processor, .. }) = &mut self.active {
            processor.reset(&self.params, &mut self.reports);
        }
    }

    fn process(
        &mut self,
        buffer: &mut Buffer<'_>,
        aux: &mut AuxiliaryBuffers<'_>,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        let Some(Active { processor, latency }) = &mut self.active else {
            return ProcessStatus::Normal;
        };
        let (params, reports) = (&*self.params, &mut self.reports);
        latency.follow(processor, params, reports, context, buffer.samples());
        let spot = aux
            .inputs
            .first()
            .map_or(&[][..], Buffer::as_slice_immutable);
        let transport = host_transport(context.transport());
        processor.process(buffer.as_slice(), spot, transport, params, reports);
        self.deck_feed.show(|| processor.deck(), transport);
        self.tape_feed.show(processor.levels());
        ProcessStatus::Tail(processor.tail())
    }

    fn deactivate(&mut self) {
        self.stop();
    }
}
