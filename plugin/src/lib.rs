//! Plumbline as a plugin: aligns a pair of drum overheads to the sample, and slips it like two tape decks.
//!
//! This crate knows the host; the mathematics is in `plumbline-dsp`.

mod analysis;
mod capture;
mod desk;
mod door;
mod ears;
mod easel;
#[cfg(feature = "editor")]
mod editor;
mod fade;
mod formats;
mod guard;
mod hold;
mod inlets;
mod layouts;
mod monitor;
mod newborn;
mod params;
mod processor;
mod replacement;
mod saved;
mod setup;
mod song;
mod state;
mod sweep_params;
mod telemetry;

use analysis::{Analysis, AnalysisThread, Outlets};
use capture::capture;
use ears::{Ears, Hearing};
use easel::Easel;
use inlets::Inlets;
use nice_plug::prelude::*;
use params::PlumblineParams;
use plumbline_dsp::analyser::{AnalyserSetup, Inputs};
use processor::Processor;
use replacement::{Orders, orders};
use setup::Setup;
use state::MeasurementStore;
use std::ops::RangeInclusive;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;
use telemetry::{Report, Telemetry, slot};

/// Sample rates that the core works at, Hz.
const SAMPLE_RATES: RangeInclusive<f32> = 8_000.0..=768_000.0;

/// One instance.
pub struct Plumbline {
    params: Arc<PlumblineParams>,
    telemetry: Arc<Telemetry>,
    inlets: Inlets,
    /// Here while nothing is active; else on its thread or in the processor.
    analysis: Option<Analysis>,
    thread: Option<AnalysisThread>,
    processor: Option<Box<Processor>>,
    /// While the thread is at work.
    orders: Option<Orders>,
    /// What the knobs asked for at the last block.
    asked: Option<Setup>,
    #[cfg(feature = "editor")]
    scene: editor::Scene,
    #[cfg(feature = "editor")]
    to_window: editor::ToWindow,
}

impl Default for Plumbline {
    fn default() -> Self {
        let telemetry = Arc::new(Telemetry::default());
        let (to_audio, from_analysis) = slot();
        let (to_store, reports) = slot();
        let (loads, from_store) = slot();
        let store = MeasurementStore::new(reports, loads, Arc::clone(&telemetry));
        let params = Arc::new(PlumblineParams::new(store));
        newborn::put(&params);
        guard::introduce(&params);
        let (pictures, shown) = slot();
        #[cfg(feature = "editor")]
        let (scene, to_window) = editor::scene(&params, &telemetry, shown);
        #[cfg(feature = "editor")]
        guard::introduce_scene(&scene);
        #[cfg(feature = "editor")]
        let onlooker = Arc::clone(&scene.glass);
        #[cfg(not(feature = "editor"))]
        let (onlooker, _) = (Arc::new(telemetry::Nobody), shown);
        let easel = Easel::new(pictures, onlooker);
        Self {
            params,
            telemetry,
            inlets: Inlets {
                from_analysis,
                from_store,
                report: Report::default(),
            },
            analysis: Some(Analysis::new(Outlets { to_audio, to_store }, easel)),
            thread: None,
            processor: None,
            orders: None,
            asked: None,
            #[cfg(feature = "editor")]
            scene,
            #[cfg(feature = "editor")]
            to_window,
        }
    }
}

impl Plumbline {
    /// What the knobs ask an activation for.
    fn setup(&self, channels: usize, config: &BufferConfig) -> Setup {
        Setup {
            sample_rate: f64::from(config.sample_rate),
            channels,
            mode: self.params.mode.value(),
            reach_s: self.params.reach_s(),
            offline: config.process_mode == ProcessMode::Offline,
        }
    }

    /// Brings the analysis home.
    fn rest(&mut self) {
        self.orders = None;
        let thread = self.thread.take();
        let processor = self.processor.take();
        let hearing = processor.map(|processor| processor.into_ears().into_hearing());
        match (hearing, thread) {
            (Some(Hearing::Inline(analysis)), _) => self.analysis = Some(*analysis),
            (_, Some(thread)) => self.analysis = thread.finish(),
            _ => {}
        }
    }

    /// Sends the analysis to where it listens.
    fn listen(&mut self, setup: Setup, inputs: Option<Inputs>) -> Hearing {
        let Some(mut analysis) = self.analysis.take() else {
            return Hearing::Nobody;
        };
        let sample_rate = setup.sample_rate;
        if setup.offline {
            analysis.forget();
        }
        analysis.prepare(inputs.map(|inputs| AnalyserSetup {
            sample_rate,
            inputs,
        }));
        if setup.offline {
            return Hearing::Inline(Box::new(analysis));
        }
        let (capture, listener) = capture(sample_rate, Arc::clone(&self.telemetry));
        let (orders, workshop) = orders(Arc::clone(&self.telemetry));
        let Ok(thread) = AnalysisThread::spawn(analysis, listener, workshop) else {
            return Hearing::Nobody;
        };
        self.orders = Some(orders);
        self.thread = Some(thread);
        Hearing::Thread(capture)
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
        let Some(orders) = &mut self.orders else {
            return;
        };
        let wanted = asked != processor.setup();
        if wanted && orders.is_ready() {
            processor.leave();
        } else {
            processor.stay();
        }
        if wanted && processor.has_left() && orders.exchange(processor) {
            processor.enter(&self.params, &mut self.inlets);
            context.set_latency_samples(processor.setup().latency() as u32);
        }
        if asked != processor.setup() {
            orders.order(asked);
        }
    }

    /// True when the analysis has been measuring for this state of the session and still should.
    fn goes_on_measuring(&self) -> bool {
        let epoch = self.analysis.as_ref().and_then(Analysis::epoch);
        self.params.measure.value() && epoch == Some(self.inlets.report.epoch)
    }
}

/// What a layout lets the analyser hear.
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

    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = layouts::LAYOUTS;
    const SAMPLE_ACCURATE_AUTOMATION: bool = true;

    #[cfg(feature = "editor")]
    type Editor = editor::PlumblineEditor;
    #[cfg(not(feature = "editor"))]
    type Editor = ();
    type SysExMessage = ();
    type BackgroundTask = ();

    fn params(&self) -> Arc<dyn Params> {
        Arc::clone(&self.params) as Arc<dyn Params>
    }

    #[cfg(feature = "editor")]
    fn editor(&mut self, _executor: AsyncExecutor<Self>) -> Option<Self::Editor> {
        Some(editor::PlumblineEditor::new(self.scene.clone()))
    }

    fn activate(
        &mut self,
        layout: &AudioIOLayout,
        config: &BufferConfig,
        context: &mut impl ActivateContext<Self>,
    ) -> bool {
        self.rest();
        if !SAMPLE_RATES.contains(&config.sample_rate) {
            return false;
        }
        self.inlets.take_load();
        let setup = self.setup(channels(layout), config);
        let spot = !layout.aux_input_ports.is_empty();
        self.telemetry.spot.store(spot, Relaxed);
        let goes_on = self.goes_on_measuring() && !setup.offline;
        let mut ears = Ears::new(self.listen(setup, inputs(layout)));
        if goes_on {
            ears.resume();
        }
        let mut processor = Processor::new(setup, ears, Arc::clone(&self.telemetry));
        processor.arrive(&self.params, &mut self.inlets);
        self.processor = Some(Box::new(processor));
        self.asked = Some(setup);
        context.set_latency_samples(setup.latency() as u32);
        true
    }

    fn reset(&mut self) {
        if let Some(processor) = &mut self.processor {
            processor.reset(&self.params, &mut self.inlets);
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
        let place = song::place(context.transport());
        let main = buffer.as_slice();
        processor.process(main, spot, place, &self.params, &mut self.inlets);
        #[cfg(feature = "editor")]
        self.to_window.show(processor.bearings(), place);
        ProcessStatus::Tail(processor.tail())
    }

    fn deactivate(&mut self) {
        self.rest();
    }
}
