//! Hands the parameters of the instance that the framework has just made to the guard around it.
//!
//! The framework makes the plugin itself and keeps it to itself; the guard must know the latency before it activates.

use crate::params::PlumblineParams;
use crate::setup::Setup;
use std::cell::RefCell;
use std::sync::Arc;

thread_local! {
    static LAST: RefCell<Option<Arc<PlumblineParams>>> = const { RefCell::new(None) };
}

/// The parameters of one instance, as far as the guard needs them.
#[derive(Default)]
pub struct Newborn(Option<Arc<PlumblineParams>>);

/// Called by every new instance.
pub fn put(params: &Arc<PlumblineParams>) {
    LAST.set(Some(Arc::clone(params)));
}

/// The instance that this thread has made last, once.
pub fn take() -> Newborn {
    Newborn(LAST.take())
}

impl Newborn {
    /// Samples of latency that an activation at this rate would have.
    pub fn latency(&self, sample_rate: f64) -> u32 {
        let latency = |params: &Arc<PlumblineParams>| {
            Setup {
                sample_rate,
                channels: 2,
                mode: params.mode.value(),
                reach_s: params.reach_s(),
                offline: false,
            }
            .latency()
        };
        self.0.as_ref().map_or(0, latency) as u32
    }
}
