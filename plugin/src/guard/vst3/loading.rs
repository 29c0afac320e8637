//! A session loaded into an active plugin that has heard nothing yet: it is activated anew and the host told at once.
//!
//! Left to itself the framework tells a new latency from a thread of its own, once audio runs. A host that loads a session
//! and renders it in one go has settled its delays by then, and its render would come out late. Hosts load on their main
//! thread, which is also where they want to be told.

use crate::instance::LatencyQuery;
use std::sync::Mutex;
use std::sync::atomic::{
    AtomicU8, AtomicU32,
    Ordering::{AcqRel, Acquire, Relaxed, Release},
};
use vst3::Steinberg::Vst::RestartFlags_::kLatencyChanged;
use vst3::Steinberg::Vst::{IComponentHandler, IComponentHandlerTrait};
use vst3::{ComPtr, ComRef};

/// Not active, or heard a block since.
const SETTLED: u8 = 0;
/// Active, and no block so far.
const UNHEARD: u8 = 1;
/// Being activated anew: a block that comes now is silent.
const CLOSED: u8 = 2;

/// What it takes to do so. The host's main thread owns it; a block only looks at `stage`.
pub(super) struct Loading {
    latency_query: LatencyQuery,
    /// Hz, the bits of an `f32`, from `setupProcessing`.
    sample_rate: AtomicU32,
    /// Written by the main thread, and by the first block after an activation.
    stage: AtomicU8,
    handler: Mutex<Option<ComPtr<IComponentHandler>>>,
}

impl Loading {
    /// For the instance that the framework has just made.
    pub(super) fn new(latency_query: LatencyQuery) -> Self {
        Self {
            latency_query,
            sample_rate: AtomicU32::new(0),
            stage: AtomicU8::new(SETTLED),
            handler: Mutex::new(None),
        }
    }

    /// The rate of the activations to come, Hz.
    pub(super) fn set_rate(&self, sample_rate: f64) {
        self.sample_rate
            .store((sample_rate as f32).to_bits(), Relaxed);
    }

    /// The host has activated or deactivated the plugin; no block runs meanwhile.
    pub(super) fn set_active(&self, active: bool) {
        let stage = if active { UNHEARD } else { SETTLED };
        self.stage.store(stage, Release);
    }

    /// At the start of a block: false while the plugin is being activated anew.
    pub(super) fn admit_block(&self) -> bool {
        self.stage
            .compare_exchange(UNHEARD, SETTLED, AcqRel, Acquire)
            != Err(CLOSED)
    }

    /// Whom to tell.
    ///
    /// # Safety
    ///
    /// `handler` is null, or a handler that lives at least as long as this call.
    pub(super) unsafe fn set_handler(&self, handler: *mut IComponentHandler) {
        // SAFETY: as promised by the caller; what is kept counts as an owner.
        let handler = unsafe { ComRef::from_raw(handler) }.map(|handler| handler.to_com_ptr());
        if let Ok(mut kept) = self.handler.lock() {
            *kept = handler;
        }
    }

    /// After a session has been loaded. `known` is the latency of the activation so far, in samples; `activate` does it
    /// anew.
    pub(super) fn loaded(&self, known: u32, activate: impl FnOnce()) {
        let sample_rate = f64::from(f32::from_bits(self.sample_rate.load(Relaxed)));
        if self.stage.load(Acquire) != UNHEARD || self.latency_query.latency(sample_rate) == known {
            return;
        }
        let unheard = self
            .stage
            .compare_exchange(UNHEARD, CLOSED, AcqRel, Acquire);
        if unheard.is_err() {
            return;
        }
        activate();
        self.stage.store(UNHEARD, Release);
        // A copy, as the host may set another handler from within.
        let handler = self.handler.lock().ok().and_then(|kept| kept.clone());
        if let Some(handler) = handler {
            // SAFETY: the handler is ours to call on the thread on which the host loads.
            unsafe { handler.restartComponent(kLatencyChanged) };
        }
    }
}
