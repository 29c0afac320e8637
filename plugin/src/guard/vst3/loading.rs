//! A session loaded into an active plugin that has heard nothing yet: it is activated anew and the host told at once.
//!
//! Left to itself the framework tells a new latency from a thread of its own, once audio runs. A host that loads a session
//! and renders it in one go has settled its delays by then, and its render would come out late. Hosts load on their main
//! thread, which is also where they want to be told.

use crate::instance::InstanceQuery;
use std::sync::Arc;
use std::sync::atomic::{
    AtomicU8, AtomicU32,
    Ordering::{AcqRel, Acquire, Relaxed, Release},
};

/// Not active, or heard a block since.
const SETTLED: u8 = 0;
/// Active, and no block so far.
const UNHEARD: u8 = 1;
/// Being activated anew: a block that comes now is silent.
const CLOSED: u8 = 2;

/// What it takes to do so. The host's main thread owns it; a block only looks at `stage`.
pub(super) struct Loading {
    query: Arc<InstanceQuery>,
    /// Hz, the bits of an `f32`, from `setupProcessing`.
    sample_rate: AtomicU32,
    /// Written by the main thread, and by the first block after an activation.
    stage: AtomicU8,
}

impl Loading {
    /// For the instance that the framework has just made.
    pub(super) fn new(query: Arc<InstanceQuery>) -> Self {
        Self {
            query,
            sample_rate: AtomicU32::new(0),
            stage: AtomicU8::new(SETTLED),
        }
    }

    /// The rate of the activations to come, Hz.
    pub(super) fn set_rate(&self, sample_rate: f64) {
        self.sample_rate
            .store((sample_rate as f32).to_bits(), Relaxed);
    }

    /// The rate of the activations to come, Hz.
    pub(super) fn sample_rate(&self) -> f64 {
        f64::from(f32::from_bits(self.sample_rate.load(Relaxed)))
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

    /// After a session has been loaded. `known` is the latency of the activation so far, in samples; `activate` does it
    /// anew. True when the latency has changed and the host should hear of it.
    pub(super) fn loaded(&self, known: u32, activate: impl FnOnce()) -> bool {
        let wanted = self.query.latency(self.sample_rate());
        if self.stage.load(Acquire) != UNHEARD || wanted == known {
            return false;
        }
        let unheard = self
            .stage
            .compare_exchange(UNHEARD, CLOSED, AcqRel, Acquire);
        if unheard.is_err() {
            return false;
        }
        activate();
        self.stage.store(UNHEARD, Release);
        true
    }
}
