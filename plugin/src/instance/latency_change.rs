//! A change of mode, reach or print while the plugin is active: the host's restart, or an exchange of the audio path.

use crate::audio::{PathExchange, Processor, Setup};
use crate::exchange::ReportInbox;
use crate::params::PlumblineParams;
use nice_plug::prelude::*;

/// How long Reach must have rested before the latency follows it: a drag asks once, when the hand is still. Common
/// practice, no source.
const REST_S: f64 = 0.25;

/// Follows what the parameters ask for, during one activation.
pub struct LatencyChange {
    rest: Rest,
    /// What was asked for at the last block.
    asked: Setup,
    /// While there is a thread that builds audio paths.
    exchange: Option<PathExchange>,
}

impl LatencyChange {
    /// Of an activation.
    pub fn new(setup: Setup, exchange: Option<PathExchange>) -> Self {
        Self {
            rest: Rest::new(setup),
            asked: setup,
            exchange,
        }
    }

    /// Once a block of so many samples. A CLAP host restarts the plugin for a new latency, once it is asked. Of VST3 hosts some do and some
    /// only read the latency again, so the new path is put in place first and the latency told then.
    pub fn follow<P: Plugin>(
        &mut self,
        processor: &mut Box<Processor>,
        params: &PlumblineParams,
        reports: &mut ReportInbox,
        context: &impl ProcessContext<P>,
        samples: usize,
    ) {
        let asked = self.rest.follow(processor.setup().asked(params), samples);
        match context.plugin_api() {
            PluginApi::Clap => self.request_restart(asked, processor, context),
            _ => {
                if self.exchange_path(asked, processor, params, reports) {
                    context.set_latency_samples(processor.latency());
                }
            }
        }
    }

    /// Asks once for each new wish.
    fn request_restart<P: Plugin>(
        &mut self,
        asked: Setup,
        processor: &Processor,
        context: &impl ProcessContext<P>,
    ) {
        let is_new = std::mem::replace(&mut self.asked, asked) != asked;
        if is_new && asked != processor.setup() {
            context.request_restart();
        }
    }

    /// Requests a path, fades the old one out once the new one is built, and puts it in place; true when it has been.
    fn exchange_path(
        &mut self,
        asked: Setup,
        processor: &mut Box<Processor>,
        params: &PlumblineParams,
        reports: &mut ReportInbox,
    ) -> bool {
        let Some(exchange) = &mut self.exchange else {
            return false;
        };
        let wanted = asked != processor.setup();
        if wanted && exchange.is_ready() {
            processor.fade_out();
        } else {
            processor.stay();
        }
        let exchanged = wanted && processor.has_faded_out() && exchange.swap(processor);
        if exchanged {
            processor.fade_in(params, reports);
        }
        if asked != processor.setup() {
            exchange.request(asked);
        }
        exchanged
    }
}

/// Waits until a reach that is dragged has come to rest; another mode counts at once.
struct Rest {
    /// The newest wish.
    wish: Setup,
    /// Samples since it came.
    rested: usize,
    /// The last wish that had rested.
    settled: Setup,
}

impl Rest {
    /// At rest.
    fn new(setup: Setup) -> Self {
        Self {
            wish: setup,
            rested: 0,
            settled: setup,
        }
    }

    /// Takes a wish that stands for the next `samples`; what is to be done.
    fn follow(&mut self, wish: Setup, samples: usize) -> Setup {
        if std::mem::replace(&mut self.wish, wish) != wish {
            self.rested = 0;
        }
        let rest = REST_S * wish.sample_rate;
        if wish.mode != self.settled.mode || self.rested as f64 >= rest {
            self.settled = wish;
        }
        self.rested = self.rested.saturating_add(samples);
        self.settled
    }
}
