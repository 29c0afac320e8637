//! Answers the guard what latency an instance would have before it is activated.
//!
//! The framework makes the plugin and keeps it to itself; the guard must tell the host the latency earlier.

use crate::audio::{self, Render, Setup};
use crate::params::PlumblineParams;
use std::cell::RefCell;
use std::sync::Arc;

thread_local! {
    static LAST: RefCell<Option<Arc<PlumblineParams>>> = const { RefCell::new(None) };
}

/// The parameters of one instance, as far as its latency hangs on them.
#[derive(Default)]
pub struct LatencyQuery(Option<Arc<PlumblineParams>>);

impl LatencyQuery {
    /// Called by every new instance.
    pub fn offer(params: &Arc<PlumblineParams>) {
        LAST.set(Some(Arc::clone(params)));
    }

    /// About the instance that this thread has made last, once.
    pub fn take() -> Self {
        Self(LAST.take())
    }

    /// Samples of latency that an activation at this rate would have.
    pub fn latency(&self, sample_rate: f64) -> u32 {
        self.0
            .as_ref()
            .map_or(0, |params| latency_of(params, sample_rate))
    }
}

/// The latency is the same for one and two channels.
fn latency_of(params: &PlumblineParams, sample_rate: f64) -> u32 {
    let setup = Setup {
        sample_rate,
        channels: 2,
        mode: params.mode.value(),
        reach_s: params.reach_s(),
        render: Render::Realtime,
    };
    audio::latency(&setup) as u32
}
