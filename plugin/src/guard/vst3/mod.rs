//! The VST3 that the host sees: the framework's, with buses, set-up, parameters, processing and the window taken over.
//!
//! Promises the framework whole buffers and calls in an order that it stands. Called by the host through the factory; calls
//! the framework and, for the latency, the instance.

mod automation;
mod block;
mod buses;
mod factory;
mod forward;
#[cfg(feature = "editor")]
mod gestures;
mod loading;
mod notices;
mod processing;
mod purpose;
#[cfg(all(feature = "editor", target_os = "linux"))]
mod run_loop;
#[cfg(all(feature = "editor", target_os = "linux"))]
mod run_loop_waker;
mod song;
mod values;
#[cfg(feature = "editor")]
mod view;

use super::buffers::Buses;
use super::exclusive::Exclusive;
use super::parameters::Parameters;
use super::switches::Switches;
use crate::instance::{InstanceQuery, Plumbline};
use block::{Blocks, SPOT};
use loading::Loading;
use nice_plug::wrapper::vst3::Wrapper;
use notices::{Notices, Relay};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU8, AtomicU32, Ordering::Relaxed};
use values::Values;
use vst3::Steinberg::Vst::ChannelContext::IInfoListener;
use vst3::Steinberg::Vst::{
    IAudioProcessor, IComponent, IComponentHandler, IComponentTrait, IEditController,
    IEditControllerTrait, IProcessContextRequirements, IUnitInfo,
};
use vst3::Steinberg::{TBool, kInvalidArgument, kResultFalse, kResultOk, tresult};
use vst3::{Class, ComPtr, ComWrapper};

type Framework = Wrapper<Plumbline>;

/// One instance.
struct Guarded {
    framework: Framework,
    loading: Loading,
    blocks: Exclusive<Blocks>,
    /// Longest block, from `setupProcessing`.
    longest: AtomicU32,
    /// From `setProcessing`.
    processing: AtomicU8,
    /// From `setActive`.
    active: AtomicBool,
    /// Channels of the spot as the host has arranged it, which the framework may see otherwise.
    spot_channels: AtomicU32,
    switches: Switches,
    values: Arc<Values>,
    notices: Arc<Notices>,
    query: Arc<InstanceQuery>,
    /// The framework's handler, which outlives it.
    _relay: Option<ComPtr<IComponentHandler>>,
}

impl Class for Guarded {
    type Interfaces = (
        IComponent,
        IEditController,
        IAudioProcessor,
        IProcessContextRequirements,
        IUnitInfo,
        IInfoListener,
    );
}

impl Guarded {
    fn new() -> Self {
        let framework = Framework::new();
        let query = Arc::new(InstanceQuery::take());
        let notices = Arc::new(Notices::new());
        let told = Arc::clone(&notices);
        query.tell_news_to(move || told.tell_unsaved());
        let relay = ComWrapper::new(Relay(Arc::clone(&notices))).to_com_ptr::<IComponentHandler>();
        if let Some(relay) = &relay {
            // SAFETY: the handler is alive.
            unsafe { framework.setComponentHandler(relay.as_ptr()) };
        }
        Self {
            framework,
            loading: Loading::new(Arc::clone(&query)),
            blocks: Exclusive::new(Blocks::new(Buses::default(), 0, 0.0)),
            longest: AtomicU32::new(0),
            processing: AtomicU8::new(0),
            active: AtomicBool::new(false),
            spot_channels: AtomicU32::new(2),
            switches: Switches::default(),
            values: Arc::new(Values::new(Parameters::new(query.params()))),
            notices,
            query,
            _relay: relay,
        }
    }

    /// Activates or deactivates the framework while no block runs; `kResultFalse` when one runs that does not end. What the
    /// framework has to tell the host meanwhile is told afterwards: the host may call again from within.
    fn set_active(&self, state: TBool) -> tresult {
        let mut blocks = (state != 0).then(|| self.new_blocks());
        self.notices.hold();
        let result = self.blocks.wait(|place| {
            if let Some(blocks) = blocks.take() {
                *place = blocks;
            }
            // SAFETY: plain data.
            unsafe { self.framework.setActive(state) }
        });
        self.notices.release();
        let result = result.unwrap_or(kResultFalse);
        if result == kResultOk {
            self.active.store(state != 0, Relaxed);
        }
        result
    }

    /// What blocks of the layout and length that the host has settled on are made whole with.
    fn new_blocks(&self) -> Blocks {
        let buses = Buses {
            main: self.framework_channels(0),
            spot: self.framework_channels(SPOT),
        };
        let longest = self.longest.load(Relaxed) as usize;
        Blocks::new(buses, longest, self.loading.sample_rate())
    }
}
